using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.TimeZones;
using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>The time of a lesson a week later.</summary>
/// <param name="During">When.</param>
/// <param name="WhyNot">Why it cannot be booked; null where it can.</param>
/// <param name="Booked">Whether it is booked already.</param>
/// <param name="Next">The pupil's next lesson that is booked, whenever.</param>
internal sealed record NextWeek(Interval During, Refusal? WhyNot, bool Booked, LessonSheet? Next);

/// <summary>Books the same pupil with the same instructor at the same time of the clock a week later.</summary>
internal sealed class SameTimeNextWeek(SchoolDb db, SlotFinder slots, BookLesson book, LessonRecording lessons, PupilBook pupils, SchoolInfo school, IClock clock)
{
    private static readonly Refusal Past = Refusal.Rule("next_week_past", "A week later is past already. Choose another time.");

    /// <summary>What a week later would be, and whether it is free.</summary>
    public async Task<NextWeek> LookAsync(LessonSheet lesson, Viewer viewer, CancellationToken cancel)
    {
        var start = await StartAsync(lesson, cancel);
        var next = await lessons.NextOfPupilAsync(lesson.PupilId, clock.GetCurrentInstant(), cancel);
        if (await BookedAsync(lesson, start, cancel) is not null)
        {
            return new(new(start, start + lesson.During.Duration), null, true, next);
        }

        if (start <= clock.GetCurrentInstant())
        {
            return new(new(start, start + lesson.During.Duration), Past, false, next);
        }

        var pupil = (await pupils.CardsAsync([lesson.PupilId], cancel))[lesson.PupilId];
        var date = start.InZone((await school.GetAsync(cancel)).Zone).Date;
        var question = new SlotQuestion(lesson.PupilId, date, date, lesson.Minutes) { PickUp = lesson.PickUp, DropOff = lesson.DropOff, Kind = KindOf(lesson) };
        var verdict = await slots.CheckAsync(question, pupil, lesson.InstructorId, start, viewer, cancel);
        return verdict.Ok
            ? new(new(verdict.Value.Start, verdict.Value.End), null, false, next)
            : new(new(start, start + lesson.During.Duration), verdict.Refusal, false, next);
    }

    /// <summary>Books it. What is booked already stays so: a second press books nothing else.</summary>
    /// <param name="viewer">Who presses.</param>
    /// <param name="id">The lesson.</param>
    /// <param name="shown">The start that the button named: where the lesson was moved since, nothing else is booked for it. Null where none was named, which books nothing.</param>
    /// <param name="cancel">Stops.</param>
    public async Task<Outcome<LessonJson>> RunAsync(Viewer viewer, Guid id, Instant? shown, CancellationToken cancel)
    {
        if (await lessons.FindAsync(id, viewer, cancel) is not { } lesson)
        {
            return Refusal.NotFound("lesson");
        }

        var start = await StartAsync(lesson, cancel);
        if (shown != start)
        {
            var facts = await school.GetAsync(cancel);
            return Refusal.Conflict(
                "next_week_changed", $"A week after the lesson is {facts.When(new(start, start + lesson.During.Duration))}, which is not the time that was to be booked. Nothing was booked. Look at it again.");
        }

        if (await BookedAsync(lesson, start, cancel) is { } there)
        {
            return LessonJson.Of(there, viewer);
        }

        if (start <= clock.GetCurrentInstant())
        {
            return Past;
        }

        var booked = await book.RunAsync(
            viewer, new(lesson.PupilId, lesson.InstructorId, start, lesson.Minutes, PlaceInput.Of(lesson.PickUp), PlaceInput.Of(lesson.DropOff), KindOf(lesson)), cancel);
        return booked.Ok ? LessonJson.Of(booked.Value, viewer) : booked.Refusal;
    }

    private Task<Lesson?> BookedAsync(LessonSheet lesson, Instant start, CancellationToken cancel) => db.Set<Lesson>().AsNoTracking()
        .FirstOrDefaultAsync(l => l.PupilId == lesson.PupilId && l.InstructorId == lesson.InstructorId && l.StartsAt == start && l.State == LessonState.Booked, cancel);

    // Where the clock skips that time it is as much later as is skipped; where the time comes twice it is the first.
    private async Task<Instant> StartAsync(LessonSheet lesson, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        return lesson.StartsAt.InZone(zone).LocalDateTime.PlusDays(7).InZone(zone, Resolvers.CreateMappingResolver(Resolvers.ReturnEarlier, Resolvers.ReturnForwardShifted)).ToInstant();
    }

    // What was for once is not for every week.
    private static LessonKind KindOf(LessonSheet lesson) =>
        lesson.Kind is LessonKind.Assessment or LessonKind.Mock or LessonKind.TestDay ? LessonKind.Standard : lesson.Kind;
}
