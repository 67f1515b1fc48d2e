using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Waiting;

internal sealed class SaveWaitingSettings(SchoolDb db, Audit audit)
{
    public async Task<Outcome<WaitingSettings>> RunAsync(Viewer viewer, WaitingRules rules, int? expected, CancellationToken cancel)
    {
        var errors = new FieldErrors();
        foreach (var (field, sentence) in rules.Validate())
        {
            errors.Add(field, sentence);
        }

        return errors.ToRefusal() is { } invalid
            ? invalid
            : await db.InTransactionAsync<WaitingSettings>(
                async cancel =>
                {
                    var taken = await db.Set<WaitingSettings>().TakeAsync(WaitingSettings.Only, expected, "setting", cancel);
                    if (taken.Ok)
                    {
                        audit.NoteValues(viewer, "waiting.change", null, "Changed how freed times are offered", taken.Value.Take(rules));
                    }

                    return taken;
                },
                cancel);
    }
}
