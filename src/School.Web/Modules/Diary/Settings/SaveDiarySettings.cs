using Microsoft.EntityFrameworkCore;
using School.Core.Diary;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Settings;

/// <summary>Saves the school's booking rules. Lessons that they make impossible stay and wait on the office's list.</summary>
internal sealed class SaveDiarySettings(SchoolDb db, Audit audit)
{
    public Task<Outcome<DiarySettings>> RunAsync(Viewer viewer, DiaryRules rules, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<DiarySettings>(
            async cancel =>
            {
                var errors = new FieldErrors();
                foreach (var (field, sentence) in rules.Validate())
                {
                    errors.Add(field, sentence);
                }

                if (errors.ToRefusal() is { } invalid)
                {
                    return invalid;
                }

                var taken = await db.Set<DiarySettings>().TakeAsync(DiarySettings.Only, expected, "setting", cancel);
                if (taken is not { Value: { } row })
                {
                    return taken;
                }

                // What is said about kinds of lesson is saved elsewhere.
                row.Rules = rules with { Kinds = row.Rules.Kinds };
                audit.NoteValues(viewer, "rules.change", null, "Changed the booking rules", row);
                return row;
            },
            cancel);
}
