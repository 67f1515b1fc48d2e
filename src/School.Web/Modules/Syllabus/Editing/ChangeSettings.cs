using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Editing;

internal sealed class ChangeSettings(SchoolDb db, Audit audit, Viewer viewer)
{
    public Task<Outcome<SyllabusSettings>> RunAsync(int version, int? staleDays, int? practiceWeight, CancellationToken cancel) => db.InTransactionAsync<SyllabusSettings>(
        async cancel =>
        {
            var taken = await db.Set<SyllabusSettings>().TakeAsync(SyllabusSettings.Only, version, "setting", cancel);
            if (!taken.Ok)
            {
                return taken;
            }

            var errors = new FieldErrors()
                .When(staleDays is null or < 7 or > 365, "StaleDays", "Enter the days, from 7 to 365.")
                .When(practiceWeight is null or < 0 or > 100, "PracticeWeight", "Enter the percentage, from 0 to 100.");
            if (errors.ToRefusal() is { } refusal)
            {
                return refusal;
            }

            (taken.Value.StaleDays, taken.Value.PracticeWeight) = (staleDays!.Value, practiceWeight!.Value);
            audit.NoteValues(viewer, "syllabus.settings", null, "Changed the numbers about learning", taken.Value);
            return taken;
        },
        cancel);
}
