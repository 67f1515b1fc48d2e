using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Practice;

/// <summary>Adds, changes and removes private practice: a pupil's own, or any pupil's by the staff for them.</summary>
internal sealed class KeepPractice(SchoolDb db, PupilBook pupils, SyllabusBook syllabus, SchoolInfo school, Audit audit, Viewer viewer, IClock clock)
{
    /// <param name="pupilId">Who drove.</param>
    /// <param name="input">The drive.</param>
    /// <param name="cancel">Stops.</param>
    /// <param name="id">The id that the form gave it, so that a press too many adds nothing.</param>
    public Task<Outcome<PrivatePractice>> AddAsync(Guid pupilId, PracticeInput input, CancellationToken cancel, Guid? id = null) => db.InTransactionAsync<PrivatePractice>(
        async cancel =>
        {
            // Two drives that are logged at once are counted one after the other.
            await db.LockAsync([$"practice:{pupilId}"], cancel);
            var known = id is null ? null : await db.Set<PrivatePractice>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == id, cancel);
            if (known?.PupilId == pupilId && (viewer.IsStaff || viewer.PupilId == pupilId))
            {
                return known;
            }

            var read = await ReadAsync(pupilId, null, input, cancel);
            if (!read.Ok)
            {
                return read.Refusal;
            }

            var drive = new PrivatePractice { Id = known is null && id is { } given ? given : RowId.New(), PupilId = pupilId, On = default, Minutes = 0, Supervisor = "", Edition = 0, LoggedAt = default, LoggedBy = "" };
            await TakeAsync(drive, read.Value, cancel);
            return db.Add(drive).Entity;
        },
        cancel);

    /// <param name="pupilId">Whose it must be; null where the address names the drive alone.</param>
    /// <param name="id">Which drive.</param>
    /// <param name="version">The version that was looked at.</param>
    /// <param name="input">What it becomes.</param>
    /// <param name="cancel">Stops.</param>
    public Task<Outcome<PrivatePractice>> ChangeAsync(Guid? pupilId, Guid id, int? version, PracticeInput input, CancellationToken cancel) => db.InTransactionAsync<PrivatePractice>(
        async cancel =>
        {
            var taken = await FindAsync(pupilId, id, version, cancel);
            if (!taken.Ok)
            {
                return taken;
            }

            await db.LockAsync([$"practice:{taken.Value.PupilId}"], cancel);
            var read = await ReadAsync(taken.Value.PupilId, id, input, cancel);
            if (!read.Ok)
            {
                return read.Refusal;
            }

            await TakeAsync(taken.Value, read.Value, cancel);
            audit.NoteFields(viewer, "practice.change", id, "Changed a drive between lessons", taken.Value);
            return taken;
        },
        cancel);

    public Task<Outcome<PrivatePractice>> RemoveAsync(Guid? pupilId, Guid id, int? version, CancellationToken cancel) => db.InTransactionAsync<PrivatePractice>(
        async cancel =>
        {
            var taken = await FindAsync(pupilId, id, version, cancel);
            if (taken.Ok)
            {
                db.Remove(taken.Value);
                audit.Note(viewer, "practice.remove", id, $"Removed a drive between lessons: {taken.Value.Minutes} minutes on {taken.Value.On:uuuu-MM-dd}.");
            }

            return taken;
        },
        cancel);

    private Task<Outcome<PrivatePractice>> FindAsync(Guid? pupilId, Guid id, int? version, CancellationToken cancel) =>
        db.Set<PrivatePractice>().VisibleTo(viewer).Where(p => pupilId == null || p.PupilId == pupilId).TakeAsync(id, version, "drive", cancel);

    private async Task<Outcome<PracticeInput>> ReadAsync(Guid pupilId, Guid? id, PracticeInput input, CancellationToken cancel)
    {
        if (await pupils.FindAsync(pupilId, viewer, cancel) is not { } pupil)
        {
            return Refusal.NotFound("pupil");
        }

        if (pupil.RetiredOn is not null)
        {
            return Refusal.Rule("pupil_left", "This pupil has left the school. What was logged stays as it is.");
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

    private async Task TakeAsync(PrivatePractice drive, PracticeInput read, CancellationToken cancel)
    {
        (drive.On, drive.Minutes, drive.Supervisor) = (read.On!.Value, read.Minutes!.Value, read.Supervisor!);
        (drive.Conditions, drive.Skills) = ([.. read.Conditions!], [.. read.Skills!]);
        (drive.Edition, drive.LoggedAt, drive.LoggedBy) = ((await syllabus.CurrentAsync(cancel)).Number, clock.GetCurrentInstant(), viewer.Name);
    }
}
