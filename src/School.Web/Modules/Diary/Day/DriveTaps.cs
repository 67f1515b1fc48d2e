using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Day;

/// <summary>What an instructor may tap between two lessons: that they leave, or that the drive under way is over.</summary>
internal sealed record DriveCard(Place? From, Place? To, LastDrive? UnderWay);

/// <summary>Offers to record the drive to the next stop, on one's own day and never while a lesson is on.</summary>
internal sealed class DriveTaps(DriveLog drives, BeginDrive begin, EndDrive end, DayReader reader, Viewer viewer)
{
    /// <summary>The last drive of today, whosever day it is; null for another day, and while a lesson is on, when it says nothing.</summary>
    public async Task<LastDrive?> LastAsync(DaySheet day, CancellationToken cancel) => day.Date != day.Context.Today || IsLessonOn(day)
        ? null
        : await drives.LastAsync(day.Instructor.Id, day.Date, day.Context.School.Zone, cancel);

    /// <summary>The drive that is under way. A lesson that began since says that the arrival was not tapped: nobody knows it any more.</summary>
    public static LastDrive? UnderWay(DaySheet day, LastDrive? last) =>
        last is { ArrivedAt: null } && !day.Lessons.Any(l => l.StartsAt > last.LeftAt && l.StartsAt <= day.Context.Now) ? last : null;

    public DriveCard? Offer(DaySheet day, LastDrive? last)
    {
        var now = day.Context.Now;
        if (viewer.InstructorId != day.Instructor.Id || day.Date != day.Context.Today || IsLessonOn(day))
        {
            return null;
        }

        if (UnderWay(day, last) is { } underWay)
        {
            return new(null, null, underWay);
        }

        var before = day.Lessons.LastOrDefault(l => l.EndsAt <= now);
        var next = day.Lessons.FirstOrDefault(l => l.StartsAt > now && l.State is LessonState.Booked);
        var (from, to) = (before?.DropOff ?? day.Instructor.Base, next?.PickUp ?? day.Instructor.Base);
        return from.At() == to.At() ? null : new(from, to, null);
    }

    /// <summary>Leaves for the next stop, or arrives at it; the sentence to show.</summary>
    public async Task<Outcome<string>> TapAsync(bool arrived, Instant now, LocalDate today, CancellationToken cancel)
    {
        if (viewer.InstructorId is not { } instructor)
        {
            return Refusal.NotFound("day");
        }

        var day = (await reader.DaysAsync(instructor, today, today, cancel))[0];
        if (IsLessonOn(day))
        {
            return Refusal.Rule("lesson_on", "A lesson is on, so nothing was recorded.");
        }

        var offer = Offer(day, await LastAsync(day, cancel));
        if (arrived)
        {
            var ended = offer?.UnderWay is null ? Refusal.Rule("no_drive_under_way", "No drive is under way. Nothing was recorded.") : await end.RunAsync(viewer, instructor, cancel);
            return ended.Ok ? $"Drive recorded: {ScreenWords.Length(ended.Value)}." : ended.Refusal;
        }

        if (offer is not { From: { } from, To: { } to })
        {
            return Refusal.Rule("no_drive_ahead", "There is no drive to record now.");
        }

        var left = await begin.RunAsync(viewer, instructor, new(from, to), cancel);
        return left.Ok ? $"Left for {left.Value.To} at {day.Context.School.Time(now)}. Tap “Arrived” once you are parked there." : left.Refusal;
    }

    private static bool IsLessonOn(DaySheet day) =>
        day.Lessons.Any(l => l.State is LessonState.Booked && l.StartsAt <= day.Context.Now && l.EndsAt > day.Context.Now);
}
