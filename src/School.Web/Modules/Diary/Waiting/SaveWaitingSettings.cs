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
        var errors = new FieldErrors()
            .When(rules.HeldMinutes is < 5 or > 1440, nameof(rules.HeldMinutes), "An offer holds from 5 to 1440 minutes.")
            .When(rules.AtOnce is < 1 or > 20, nameof(rules.AtOnce), "Offer to 1 to 20 pupils at once.")
            .When(rules.LeadMinutes is < 0 or > 2880, nameof(rules.LeadMinutes), "Give from 0 to 2880 minutes.")
            .When(rules.LatelyDays is < 1 or > 90, nameof(rules.LatelyDays), "Count from 1 to 90 days back.");
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
