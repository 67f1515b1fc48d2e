using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Editing;

internal sealed record LearningNumbers(int? StaleDays, int? PracticeWeight);

internal sealed class ChangeSettings(SchoolDb db, Audit audit)
{
    public Task<Outcome<SyllabusSettings>> RunAsync(Viewer viewer, LearningNumbers wanted, int? expected, CancellationToken cancel) => db.InTransactionAsync<SyllabusSettings>(
        async cancel =>
        {
            var taken = await db.Set<SyllabusSettings>().TakeAsync(SyllabusSettings.Only, expected, "setting", cancel);
            if (!taken.Ok)
            {
                return taken;
            }

            var errors = new FieldErrors()
                .When(wanted.StaleDays is null or < 7 or > 365, nameof(wanted.StaleDays), "Enter the days, from 7 to 365.")
                .When(wanted.PracticeWeight is null or < 0 or > 100, nameof(wanted.PracticeWeight), "Enter the percentage, from 0 to 100.");
            if (errors.ToRefusal() is { } refusal)
            {
                return refusal;
            }

            (taken.Value.StaleDays, taken.Value.PracticeWeight) = (wanted.StaleDays!.Value, wanted.PracticeWeight!.Value);
            audit.NoteValues(viewer, "syllabus.settings", null, "Changed the numbers about learning", taken.Value);
            return taken;
        },
        cancel);
}
