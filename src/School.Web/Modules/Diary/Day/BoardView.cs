using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Day;

/// <summary>One column of a board: an instructor's date.</summary>
internal sealed record BoardLane(string Heading, string Href, string Summary, IReadOnlyList<BoardEntry> Entries);

/// <summary>Something on a board. The word says what the edge shows.</summary>
internal sealed record BoardEntry(Instant At, string Css, string Word, string Times, string? Who, string? Where, string? Href);

/// <summary>Days as lanes, for the office's board and the instructor's week.</summary>
internal static class BoardView
{
    public static BoardLane Lane(DaySheet day, string heading, string href) => new(heading, href, Summary(day), [.. Entries(day).OrderBy(entry => entry.At)]);

    private static string Summary(DaySheet day)
    {
        var count = day.Lessons.Count;
        var tests = day.Tests.Count == 0 ? "" : Words.Count(day.Tests.Count, "test");
        var missed = day.Missed == 0 ? "" : $", {day.Missed} missed";
        return count > 0 ? $"{Words.Count(count, "lesson")}, {ScreenWords.Length(day.BookedMinutes)}{missed}{(tests.Length > 0 ? $", {tests}" : "")}"
            : tests.Length > 0 ? tests
            : day.Working.Count == 0 ? "not working" : "no lessons";
    }

    private static IEnumerable<BoardEntry> Entries(DaySheet day)
    {
        var context = day.Context;
        foreach (var lesson in day.Lessons)
        {
            var (css, word) = State(lesson, context.Now);
            yield return new(
                lesson.StartsAt, css, word, context.Times(lesson.During), context.Pupils[lesson.PupilId].Name, lesson.PickUp.Label, $"/diary/lessons/{lesson.Id}");
        }

        foreach (var test in day.Tests)
        {
            yield return new(
                test.BlockedFrom, "test", $"test at {context.School.Time(test.StartsAt)}", context.Times(test.Blocked), context.Pupils[test.PupilId].Name,
                test.Centre.Label, TestDayWords.Address(test.Id));
        }

        var from = context.School.Zone.AtStartOfDay(day.Date).ToInstant();
        var to = context.School.Zone.AtStartOfDay(day.Date.PlusDays(1)).ToInstant();
        foreach (var off in day.TimeOff)
        {
            var whole = off.StartsAt <= from && off.EndsAt >= to;
            yield return new(
                Instant.Max(off.StartsAt, from), "off", "off", whole ? "All day" : context.Times(new(Instant.Max(off.StartsAt, from), Instant.Min(off.EndsAt, to))),
                off.Reason, null, $"/diary/hours?instructorId={day.Instructor.Id}");
        }

        foreach (var gap in day.Free)
        {
            yield return new(
                gap.Start, "free", "free", context.Times(gap), null, null,
                $"/diary/book?with={day.Instructor.Id}&from={day.Date:uuuu-MM-dd}");
        }
    }

    /// <summary>The class of the edge and the word beside it.</summary>
    public static (string Css, string Word) State(Lesson lesson, Instant now) => lesson.State switch
    {
        LessonState.Taught => ("taught", "taught"),
        LessonState.Missed => ("missed", "missed"),
        LessonState.Cancelled => ("off", "cancelled"),
        _ when lesson.During.Contains(now) => ("now", "now"),
        _ when lesson.EndsAt <= now => ("missed", "not recorded"),
        _ => ("booked", "booked"),
    };
}
