using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>While a lesson of the pupil or of who writes is on, the sheet is for somebody who says that they are parked, or that another supervises.</summary>
internal sealed class DeviceRule(LessonRecording lessons, IClock clock)
{
    public const string Tick = "Somebody else supervises, or we are parked";

    /// <summary>A sheet that nobody wrote on for so long is asked again: by then the car may be on the road (common practice, no source).</summary>
    public static readonly Duration Lapses = Duration.FromMinutes(15);

    public static readonly Refusal Closed = Refusal.Conflict(
        "lesson_running",
        $"A lesson is on, and whoever supervises a learner must not use a phone or tablet. Tick “{Tick}” to write on the sheet now.");

    /// <summary>Whether the sheet has still to be opened.</summary>
    public async Task<bool> IsClosedAsync(Viewer viewer, MockTest mock, CancellationToken cancel) =>
        clock.GetCurrentInstant() is var now && await lessons.RunningAsync(mock.PupilId, viewer.InstructorId, now, cancel) is { } running && !mock.IsSaidFor(running, viewer.PersonId, now);

    /// <summary>Whether a lesson is on for which it would have to be said.</summary>
    public async Task<bool> MustBeSaidAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        await lessons.RunningAsync(pupilId, viewer.InstructorId, clock.GetCurrentInstant(), cancel) is not null;

    /// <summary>
    /// Refuses, unless it is said now or was said a short while ago in the same lesson by the same person. What is said is kept, and each line that is written says it anew.
    /// </summary>
    public async Task<Refusal?> RefuseAsync(Viewer viewer, MockTest mock, bool says, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        if (await lessons.RunningAsync(mock.PupilId, viewer.InstructorId, now, cancel) is not { } running)
        {
            return null;
        }

        if (!says && !mock.IsSaidFor(running, viewer.PersonId, now))
        {
            return Closed;
        }

        mock.SayFor(running, viewer.PersonId, now);
        return null;
    }
}
