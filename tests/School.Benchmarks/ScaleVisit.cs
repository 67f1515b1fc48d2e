using System.Globalization;
using System.Net.Http.Json;
using System.Runtime.Versioning;
using System.Text.Json;
using NodaTime;
using Npgsql;
using School.Web.Platform.LocalPostgres;

namespace School.Benchmarks;

/// <summary>One address of a school, asked as somebody.</summary>
internal sealed record ScaleAddress(string Name, HttpClient Client, string Path);

/// <summary>Everybody signed in at one school, and the addresses of all pages and lists that they open.</summary>
[UnsupportedOSPlatform("windows")]
internal sealed class ScaleVisit : IAsyncDisposable
{
    private readonly List<HttpClient> _clients = [];

    public IReadOnlyList<ScaleAddress> Addresses { get; private set; } = [];

    public static async Task<ScaleVisit> SignInAsync(DemoService school)
    {
        var visit = new ScaleVisit();
        async Task<HttpClient> As(Func<string, Task<HttpClient>> how, string who)
        {
            var client = await how($"{who}@larkfield.example");
            visit._clients.Add(client);
            return client;
        }

        var known = await Known.ReadAsync(school);
        var (office, officePages) = (await As(school.ApiAsync, "office"), await As(school.PagesAsync, "office"));
        var (instructorPages, pupil, pupilPages) = (await As(school.PagesAsync, "instructor"), await As(school.ApiAsync, "pupil"), await As(school.PagesAsync, "pupil"));
        visit.Addresses =
        [
            .. OfOffice(known).Select(path => new ScaleAddress(NameOf("office", path, known), officePages, path)),
            .. OfInstructor(known).Select(path => new ScaleAddress(NameOf("instructor", path, known), instructorPages, path)),
            .. OfPupil(known).Select(path => new ScaleAddress(NameOf("pupil", path, known), pupilPages, path)),
            .. OfApi(known).Select(path => new ScaleAddress(NameOf("api", path, known), office, path)),
            new("feed of an instructor", office, await FeedAsync(office, new { instructorId = known.Instructor, detail = "full" })),
            new("feed of a pupil", pupil, await FeedAsync(pupil, new { pupilId = known.Pupil, detail = "full" })),
        ];
        return visit;
    }

    public ValueTask DisposeAsync()
    {
        _clients.ForEach(client => client.Dispose());
        return ValueTask.CompletedTask;
    }

    private static async Task<string> FeedAsync(HttpClient client, object wish)
    {
        // A school that is kept has those of the last times, and nobody may have many.
        foreach (var old in (await client.GetFromJsonAsync<JsonElement>("/api/v1/feeds")).GetProperty("items").EnumerateArray())
        {
            using var ended = await client.DeleteAsync($"/api/v1/feeds/{old.GetProperty("id").GetString()}");
        }

        using var feed = await client.PostAsJsonAsync("/api/v1/feeds", wish);
        feed.EnsureSuccessStatusCode();
        return new Uri((await feed.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("url").GetString()!).PathAndQuery;
    }

    private static string[] OfOffice(Known k) =>
    [
        "/diary/board", "/diary/attention", "/diary/lessons", "/diary/lessons/new", $"/diary/lessons/{k.Ahead}", $"/diary/lessons/{k.Ahead}/move", $"/diary/lessons/{k.Ahead}/cancel",
        $"/diary/lessons?pupil={k.Finished}", "/diary/waiting", "/diary/waiting/settings", "/diary/test-days", "/diary/test-days/new", $"/diary/hours?instructorId={k.Instructor}",
        "/diary/holidays", "/diary/settings", "/diary/kinds", "/diary/covers", "/diary/courses", $"/diary/courses?pupil={k.Pupil}&with={k.Instructor}", $"/diary/lessons/{k.Ahead}/kind", "/diary/weekly", $"/diary/day?instructorId={k.Instructor}", $"/diary/week?instructorId={k.Instructor}",
        "/pupils", "/pupils?retired=true", "/pupils?q=Oakley&retired=true", $"/pupils/{k.Pupil}", $"/pupils/{k.Finished}", $"/pupils/{k.Pupil}/papers", $"/pupils/{k.Pupil}/change", "/pupils/new", "/papers",
        "/cars", $"/cars/{k.Car}", $"/cars/{k.Car}/holdings", $"/cars/{k.Car}/off-road", "/cars/allocation", "/people/instructors", $"/people/instructors/{k.Instructor}", "/people/office",
        "/people/school", "/people/account", "/messages", "/messages?state=Failed", $"/messages/{k.Message}", "/records/audit", "/travel/settings", "/travel/fit", "/travel/drives",
        "/syllabus", "/syllabus/overview", "/syllabus/editions", "/syllabus/backtest", $"/syllabus/progress/{k.Finished}", $"/syllabus/progress/{k.Finished}/record",
        $"/syllabus/readiness/{k.Pupil}", "/calendars",
    ];

    private static string[] OfInstructor(Known k) =>
    [
        "/diary/day", "/diary/week", "/diary/lessons", "/diary/hours", "/diary/time-off", "/diary/test-days", "/pupils", $"/pupils/{k.Pupil}", "/syllabus/queue", "/syllabus/overview",
        $"/syllabus/progress/{k.Pupil}", $"/syllabus/lessons/{k.Ahead}/brief", $"/syllabus/lessons/{k.Taught}", $"/syllabus/lessons/{k.Taught}/record", $"/syllabus/mocks?pupil={k.Pupil}", "/calendars",
    ];

    private static string[] OfPupil(Known k) =>
    [
        "/diary/home", "/diary/book", "/diary/lessons", $"/diary/lessons/{k.Ahead}", "/diary/waiting", "/diary/test-days", "/pupils/me", "/syllabus/progress", $"/syllabus/progress/{k.Pupil}/record",
        $"/syllabus/progress/{k.Pupil}/skills/{k.Skill}", $"/syllabus/progress/{k.Pupil}/practice", $"/syllabus/progress/{k.Pupil}/export.csv", $"/syllabus/readiness/{k.Pupil}",
        $"/syllabus/lessons/{k.Ahead}/brief", "/syllabus/mocks", "/people/account/sessions",
    ];

    private static string[] OfApi(Known k) =>
    [
        $"/api/v1/instructors/{k.Instructor}", $"/api/v1/lessons?from={k.Today}&to={k.Soon}&limit=200", $"/api/v1/lessons?from={k.Today}&to={k.Soon}&limit=20", "/api/v1/pupils?limit=200", "/api/v1/instructors",
        "/api/v1/cars", "/api/v1/attention", "/api/v1/messages", "/api/v1/audit", "/api/v1/test-days", "/api/v1/waiting-list", "/api/v1/holidays", $"/api/v1/instructors/{k.Instructor}/day/{k.Today}",
        $"/api/v1/instructors/{k.Instructor}/learning", $"/api/v1/instructors/{k.Instructor}/time-off", $"/api/v1/instructors/{k.Instructor}/working-hours", $"/api/v1/instructors/{k.Instructor}/legs",
        $"/api/v1/pupils/{k.Pupil}", $"/api/v1/pupils/{k.Finished}/progress", $"/api/v1/pupils/{k.Pupil}/progress", $"/api/v1/pupils/{k.Pupil}/readiness", $"/api/v1/pupils/{k.Pupil}/mock-tests",
        $"/api/v1/pupils/{k.Pupil}/practice", $"/api/v1/lessons/{k.Ahead}", $"/api/v1/lessons/{k.Taught}/history", $"/api/v1/lessons/{k.Taught}/record", $"/api/v1/lessons/{k.Taught}/record/changes",
        $"/api/v1/slots?pupilId={k.Pupil}&minutes=60&from={k.Today}&to={k.Soon}&limit=20", $"/api/v1/slots?pupilId={k.Pupil}&minutes=60&from={k.Today}&to={k.Soon}&instructorId={k.Instructor}&limit=200",
        "/api/v1/syllabus/editions", "/api/v1/syllabus/backtest", "/api/v1/feeds",
    ];

    /// <summary>The address with words in place of ids and dates, so that the same line stands for both schools.</summary>
    private static string NameOf(string who, string path, Known k)
    {
        foreach (var (id, word) in new[]
        {
            (k.Pupil, "{pupil}"), (k.Finished, "{finished}"), (k.Instructor, "{instructor}"), (k.Car, "{car}"), (k.Ahead, "{ahead}"), (k.Taught, "{taught}"), (k.Message, "{message}"),
            (k.Today, "{today}"), (k.Soon, "{soon}"),
        })
        {
            path = path.Replace(id, word, StringComparison.Ordinal);
        }

        return $"{who} {path}";
    }

    /// <summary>Ids of the first pupil and what is theirs, and of the longest course that is over.</summary>
    private sealed record Known(
        string Pupil, string Finished, string Instructor, string Car, string Ahead, string Taught, string Message, string Skill, string Today, string Soon)
    {
        public static async Task<Known> ReadAsync(DemoService school)
        {
            await using var source = NpgsqlDataSource.Create(ClusterFolder.RunningElsewhere(school.Folder, LocalCluster.OwnerRole, "school")!);
            await using var command = source.CreateCommand("""
                WITH first AS (SELECT pupil_id AS pupil, (SELECT usual_instructor_id FROM pupils.pupils WHERE id = pupil_id) AS instructor FROM people.people WHERE email = 'pupil@larkfield.example'),
                    lessons AS (SELECT l.* FROM diary.lessons l, first WHERE l.pupil_id = first.pupil)
                SELECT first.pupil::text,
                    (SELECT pupil_id::text FROM diary.lessons l JOIN pupils.pupils p ON p.id = l.pupil_id WHERE p.retired_on IS NOT NULL GROUP BY pupil_id ORDER BY count(*) DESC, pupil_id LIMIT 1),
                    first.instructor::text,
                    (SELECT car_id::text FROM lessons LIMIT 1),
                    (SELECT id::text FROM lessons WHERE state = 'Booked' AND starts_at > now() ORDER BY starts_at LIMIT 1),
                    (SELECT id::text FROM lessons WHERE state = 'Taught' ORDER BY starts_at DESC LIMIT 1),
                    (SELECT m.id::text FROM messages.messages m, first WHERE m.receiver_id = first.pupil ORDER BY m.id LIMIT 1)
                FROM first
                """);
            await using var row = await command.ExecuteReaderAsync();
            await row.ReadAsync();
            return new(
                row.GetString(0), row.GetString(1), row.GetString(2), row.GetString(3), row.GetString(4), row.GetString(5), row.GetString(6), "mirrors",
                Text(0), Text(27));
        }

#pragma warning disable RS0030 // The demo is dated relative to the real today.
        private static string Text(int days) => SystemClock.Instance.GetCurrentInstant().InUtc().Date.PlusDays(days).ToString("uuuu-MM-dd", CultureInfo.InvariantCulture);
#pragma warning restore RS0030
    }
}
