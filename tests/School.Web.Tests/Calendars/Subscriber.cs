using System.IO.Compression;
using System.Net.Http.Json;
using System.Text;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Tests.Host;

namespace School.Web.Tests.Calendars;

/// <summary>An instructor, their car, a pupil and one lesson: Tuesday 3 March 2026, 10:00 to 11:00 in London.</summary>
internal sealed record Larkfield(SchoolHost Host, Instructor Instructor, Car Car, Pupil Pupil, Lesson Lesson)
{
    public static Instant Ten { get; } = Instant.FromUtc(2026, 3, 3, 10, 0);

    public static async Task<Larkfield> OnAsync(SchoolHost host, string pupil = "Tamsin Oakley", string instructor = "Marigold Ashby")
    {
        var teacher = await host.Data.InstructorAsync(instructor);
        var car = await host.Data.CarAsync();
        var learner = await host.Data.PupilAsync(pupil, TestData.PlaceAt(label: "Quince Lane"));
        var lesson = Booked(host, learner, teacher, car, Ten);
        await host.AddAsync(lesson);
        return new(host, teacher, car, learner, lesson);
    }

    public Lesson Another(Instant start) => Booked(Host, Pupil, Instructor, Car, start);

    /// <summary>Changes the lesson now, as the diary does.</summary>
    public Task ChangeAsync(Action<Lesson, Instant> change) => Host.WithDbAsync(async db =>
    {
        change(await db.Set<Lesson>().SingleAsync(l => l.Id == Lesson.Id), Host.Clock.GetCurrentInstant());
        return await db.SaveChangesAsync();
    });

    private static Lesson Booked(SchoolHost host, Pupil pupil, Instructor instructor, Car car, Instant start)
    {
        Place place = pupil.PickUp;
        return Lesson.Book(pupil.Id, instructor.Id, car.Id, new(start, start + Duration.FromHours(1)), place, place, host.Clock.GetCurrentInstant());
    }
}

/// <summary>Makes feeds through the API and reads them as calendar programs do.</summary>
internal static class Subscriber
{
    public static async Task<string> FeedAsync(this HttpClient api, object request)
    {
        var answer = await api.PostAsJsonAsync("/api/v1/feeds", request);
        Assert.True(answer.IsSuccessStatusCode, await answer.Content.ReadAsStringAsync());
        return (await answer.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("url").GetString()!;
    }

    /// <summary>An instructor's own feed with everything in it.</summary>
    public static async Task<string> OwnFeedAsync(this Larkfield school, string detail = "full")
    {
        using var api = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(school.Instructor));
        return await api.FeedAsync(new { instructorId = school.Instructor.Id, detail });
    }

    public static async Task<HttpResponseMessage> ReadAsync(this SchoolHost host, string url, HttpMethod? method = null, params (string Name, string Value)[] headers)
    {
        using var client = host.Anonymous();
        using var request = new HttpRequestMessage(method ?? HttpMethod.Get, url);
        foreach (var (name, value) in headers)
        {
            request.Headers.TryAddWithoutValidation(name, value);
        }

        return await client.SendAsync(request);
    }

    public static async Task<string> TextOfAsync(this SchoolHost host, string url)
    {
        var answer = await host.ReadAsync(url);
        Assert.Equal(System.Net.HttpStatusCode.OK, answer.StatusCode);
        return Encoding.UTF8.GetString(await answer.Content.ReadAsByteArrayAsync());
    }

    public static async Task<Ical.Net.Calendar> CalendarAsync(this SchoolHost host, string url) => Ical.Net.Calendar.Load(await host.TextOfAsync(url))!;

    public static string Header(this HttpResponseMessage answer, string name) =>
        answer.Headers.TryGetValues(name, out var values) || answer.Content.Headers.TryGetValues(name, out values) ? string.Join(", ", values) : "";

    public static async Task<byte[]> UnpackedAsync(this HttpResponseMessage answer)
    {
        await using var gzip = new GZipStream(await answer.Content.ReadAsStreamAsync(), CompressionMode.Decompress);
        using var text = new MemoryStream();
        await gzip.CopyToAsync(text);
        return text.ToArray();
    }
}
