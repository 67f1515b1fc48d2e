using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>Changes when pupils are sent their brief.</summary>
internal sealed class ChangeBriefSettings(SchoolDb db, Audit audit)
{
    public Task<Outcome<BriefSettings>> RunAsync(Viewer viewer, BriefSettingsBody body, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<BriefSettings>(
            async cancel =>
            {
                if (body.Hour is < BriefSettings.EarliestHour or > BriefSettings.LatestHour)
                {
                    return Refusal.Invalid(nameof(body.Hour), $"Choose an hour from {BriefSettings.EarliestHour}:00 to {BriefSettings.LatestHour}:00.");
                }

                var taken = await db.Set<BriefSettings>().TakeAsync(BriefSettings.Only, expected, "setting", cancel);
                if (taken is { Ok: true, Value: { } row })
                {
                    row.Hour = body.Hour;
                    audit.NoteValues(viewer, "evening_briefs.change", null, "Changed when pupils are sent their brief", row);
                }

                return taken;
            },
            cancel);
}
