using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Practice;

/// <summary>What a drive between lessons may be, and how it is written down.</summary>
internal sealed class PracticeRules(SchoolDb db, PupilBook pupils, OwnPupils own, SyllabusBook syllabus, SchoolInfo school, IClock clock)
{
    /// <summary>Two drives of one pupil that are logged at once are counted one after the other.</summary>
    public static string LockOf(Guid pupilId) => $"practice:{pupilId}";

    public async Task<Outcome<PracticeInput>> ReadAsync(Viewer viewer, Guid pupilId, Guid? id, PracticeInput input, CancellationToken cancel)
    {
        if (await pupils.FindAsync(pupilId, viewer, cancel) is not { } pupil)
        {
            return Refusal.NotFound("pupil");
        }

        if (await own.RefuseAsync(viewer, pupilId, cancel) is { } notYours)
        {
            return notYours;
        }

        if (pupil.RetiredOn is not null)
        {
            return PupilRefusals.Left;
        }

        var read = input.Check(pupil, await syllabus.CurrentAsync(cancel), (await school.GetAsync(cancel)).Today(clock));
        if (!read.Ok)
        {
            return read;
        }

        var others = await db.Set<PrivatePractice>().Where(p => p.PupilId == pupilId && p.On == read.Value.On && p.Id != id).SumAsync(p => p.Minutes, cancel);
        return others + read.Value.Minutes > PrivatePractice.MostMinutes
            ? Refusal.Invalid(nameof(input.Minutes), $"With what is logged for that day already ({others} minutes) this is more than {PrivatePractice.MostMinutes} minutes. Is it logged twice?")
            : read;
    }

    public async Task TakeAsync(Viewer viewer, PrivatePractice drive, PracticeInput read, CancellationToken cancel)
    {
        (drive.On, drive.Minutes, drive.Supervisor) = (read.On!.Value, read.Minutes!.Value, read.Supervisor!);
        (drive.Conditions, drive.Skills) = ([.. read.Conditions!], [.. read.Skills!]);
        (drive.Edition, drive.LoggedAt, drive.LoggedBy) = ((await syllabus.CurrentAsync(cancel)).Number, clock.GetCurrentInstant(), viewer.Name);
    }
}
