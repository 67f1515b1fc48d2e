using System.Net.Http.Headers;
using System.Text.Json;
using System.Text.Json.Serialization;
using Larkfield.Client;

var (email, password, pupil, taught) = (args[1], args[2], Guid.Parse(args[3]), Guid.Parse(args[4]));
using var http = new HttpClient { BaseAddress = new Uri(args[0] + "/") };
var school = new SchoolClient(http);

var token = (await school.IssueTokenAsync(new TokenWish { Email = email, Password = password })).Result;
http.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token.Token);
Console.WriteLine("token");

var from = new DateOnly(2026, 3, 4);
var found = (await school.FindSlotsAsync(pupilId: pupil, from: from, to: from.AddDays(7), minutes: 60)).Result;
Check(found.Items.Count > 1 && found.Items.All(slot => slot.End > slot.Start), "free times");
var slot = found.Items.First();
Console.WriteLine("search");

var wish = new BookRequest { PupilId = pupil, InstructorId = slot.InstructorId, Start = slot.Start, Minutes = 60 };
var key = Guid.NewGuid().ToString();
var booked = await school.BookLessonAsync(idempotency_Key: key, body: wish);
var again = await school.BookLessonAsync(idempotency_Key: key, body: wish);
Check(booked.StatusCode == 201 && booked.Result.State == LessonState.Booked && again.Result.Id == booked.Result.Id, "one lesson");
Check(Header(booked, "Location").EndsWith(booked.Result.Id.ToString(), StringComparison.Ordinal), "where it is read");
Console.WriteLine("book");

try
{
    await school.BookLessonAsync(idempotency_Key: null, body: wish);
    throw new InvalidOperationException("The same time was booked twice.");
}
catch (ApiException<Problem> refused) when (refused.StatusCode == 409)
{
    Check(refused.Result.Code == "pupil_busy" && refused.Result.Alternatives is { Count: > 0 }, "other times");
}

Console.WriteLine("taken");

var lesson = await school.GetLessonAsync(id: booked.Result.Id);
var other = found.Items.First(item => Math.Abs((item.Start - slot.Start).TotalHours) > 12);
var moved = await school.MoveLessonAsync(
    id: lesson.Result.Id, if_Match: Header(lesson, "ETag"), idempotency_Key: null, body: new MoveRequest { Start = other.Start, InstructorId = other.InstructorId });
Check(moved.Result.Start == other.Start && moved.Result.Sequence > lesson.Result.Sequence, "another time");
Console.WriteLine("move");

var cancelled = await school.CancelLessonAsync(id: lesson.Result.Id, if_Match: Header(moved, "ETag"), idempotency_Key: null, body: new CancelRequest { Reason = CancelReason.InstructorIll });
Check(cancelled.Result.State == LessonState.Cancelled && cancelled.Result.CancelledBecause == CancelReason.InstructorIll, "a cancelled lesson");
Console.WriteLine("cancel");

var feed = (await school.MakeFeedAsync(idempotency_Key: null, body: new FeedRequest { PupilId = pupil, Detail = FeedDetail.Busy })).Result;
var calendar = await http.GetStringAsync(new Uri(http.BaseAddress, new Uri(feed.Url).AbsolutePath));
Check(calendar.StartsWith("BEGIN:VCALENDAR", StringComparison.Ordinal) && feed.WebcalUrl.StartsWith("webcal://", StringComparison.Ordinal), "a calendar");
await school.RevokeFeedAsync(id: feed.Id);
Console.WriteLine("feed");

var sheet = await school.GetLessonRecordAsync(id: taught);
var skill = (await school.GetSyllabusAsync()).Result.Groups.First().Skills.First();
var record = new RecordRequestAsRead { MinutesTaught = sheet.Result.MinutesTaught!.Value, Note = "Calm at the lights.", Levels = [new LevelRequestAsRead { Skill = skill.Key, Level = SkillLevel.Prompted }] };
await school.RecordLessonAsync(id: taught, if_Match: Header(sheet, "ETag"), idempotency_Key: null, body: record);
var kept = (await school.GetLessonRecordAsync(id: taught)).Result;
Check(kept.Note == "Calm at the lights." && kept.Levels.Single().Level == SkillLevel.Prompted, "a record");
Console.WriteLine("record");

var progress = (await school.GetProgressAsync(id: pupil)).Result;
Check(progress.PupilId == pupil, "progress");
Console.WriteLine("progress");

var heading = (await school.ListTestHeadingsAsync()).Result.Items.First(one => one.Code != "1a");
var mock = (await school.AddMockTestAsync(id: pupil, idempotency_Key: null, body: new MockTestRequest { Finished = true, NotSupervising = true, Faults = [new MockFaultBodyWritten { Heading = heading.Code, Kind = FaultKind.Driving }] })).Result;
Check(mock.Finished && mock.Passed && mock.Driving == 1, "a mock test");
Console.WriteLine("mock test");

var forecast = (await school.GetReadinessAsync(id: pupil)).Result;
Check(forecast.LessonMinutesToGo.Low <= forecast.LessonMinutesToGo.Median && forecast.LessonMinutesToGo.Median <= forecast.LessonMinutesToGo.High, "a forecast");
Console.WriteLine("forecast");

static string Header(SwaggerResponse answer, string name) => answer.Headers[name].Single();

static void Check(bool holds, string what)
{
    if (!holds)
    {
        throw new InvalidOperationException($"Expected {what}.");
    }
}

namespace Larkfield.Client
{
    public partial class SchoolClient
    {
        // The generator writes null for what was not set, also where the document does not allow null.
        static partial void UpdateJsonSerializerSettings(JsonSerializerOptions settings)
        {
            settings.DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull;
            settings.Converters.Add(new JsonStringEnumConverter(JsonNamingPolicy.CamelCase));
        }
    }
}
