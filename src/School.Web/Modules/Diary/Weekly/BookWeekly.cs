using System.Text.Json.Serialization;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

/// <summary>Lessons to book together: the starts that were chosen from the preview.</summary>
internal sealed record BookWeeklyRequest(
    [property: JsonRequired] Guid PupilId, [property: JsonRequired] Guid InstructorId, [property: JsonRequired, Items(1, WeeklyRequest.Most)] IReadOnlyList<Instant> Starts,
    [property: JsonRequired, Between(Lesson.ShortestMinutes, Lesson.LongestMinutes)] int Minutes, PlaceInput? PickUp = null, PlaceInput? DropOff = null);

/// <summary>Weekly lessons that stand in the diary: each is a lesson by itself, with what joins them.</summary>
internal sealed record WeeklyLessons(Guid SeriesId, IReadOnlyList<Lesson> Lessons);

/// <summary>Books all of the chosen starts or none, each by the same checks as a single lesson.</summary>
internal sealed class BookWeekly(BookLesson book, LessonLocks locks, WeeklyMail mail, SchoolInfo school, SchoolDb db)
{
    public async Task<Outcome<WeeklyLessons>> RunAsync(BookWeeklyRequest request, Viewer viewer, CancellationToken cancel)
    {
        var starts = (request.Starts ?? []).Distinct().Order().ToList();
        if (starts.Count is 0 or > WeeklyRequest.Most)
        {
            return Refusal.Invalid(nameof(request.Starts), starts.Count == 0 ? "Choose at least one date." : $"Book at most {WeeklyRequest.Most} weeks at a time.");
        }

        BookingAsked? asked = null;
        foreach (var start in starts)
        {
            var read = await book.ReadAsync(new(request.PupilId, request.InstructorId, start, request.Minutes, request.PickUp, request.DropOff), viewer, cancel);
            if (!read.Ok)
            {
                return read.Refusal;
            }

            asked = read.Value;
        }

        var facts = await school.GetAsync(cancel);
        var days = starts.ConvertAll(start => new DiaryDay(request.InstructorId, start.InZone(facts.Zone).Date));
        return await db.InTransactionAsync<WeeklyLessons>(
            async cancel =>
            {
                await locks.TakeAsync(asked!.Pupil.Id, days, [], cancel);
                var series = new WeeklyLessons(RowId.New(), []);
                var lessons = new List<Lesson>();
                foreach (var start in starts)
                {
                    var added = await book.AddAsync(asked, start, series.SeriesId, viewer, cancel);
                    if (!added.Ok)
                    {
                        return added.Refusal with { Sentence = $"Nothing was booked. {facts.Moment(start)}: {added.Refusal.Sentence}" };
                    }

                    lessons.Add(added.Value);
                    // The next one is checked against a diary that holds this one: two may fall into one week.
                    await db.SaveChangesAsync(cancel);
                }

                await mail.BookedAsync(lessons, viewer, cancel);
                return series with { Lessons = lessons };
            },
            cancel);
    }
}
