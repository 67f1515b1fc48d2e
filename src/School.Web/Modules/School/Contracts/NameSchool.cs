using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.School.Contracts;

/// <summary>What a school is called and where it is, as typed.</summary>
internal sealed record SchoolNaming(string? Name, string? Zone, string? Nation);

/// <summary>Says what the school is called and where it is, and leaves the rest of its profile.</summary>
internal sealed class NameSchool(SchoolDb db, INoteChanges changes)
{
    /// <summary>Whose holidays count, to choose from.</summary>
    public static IReadOnlyList<SelectListItem> Nations => IndexModel.Nations;

    public Task<Outcome<SchoolFacts>> RunAsync(Viewer viewer, SchoolNaming naming, CancellationToken cancel) => db.InTransactionAsync<SchoolFacts>(
        async cancel =>
        {
            var errors = new FieldErrors();
            var name = errors.ReadLine(nameof(naming.Name), naming.Name, SaveSchool.LongestName, "Enter the school's name.");
            errors.When(name == SchoolFacts.Unnamed, nameof(naming.Name), "Enter a name of its own: pupils read it on every page and letter.");
            var zone = (naming.Zone ?? "").Trim();
            errors.When(DateTimeZoneProviders.Tzdb.GetZoneOrNull(zone) is null, nameof(naming.Zone), SaveSchool.NoSuchZone);
            errors.When(IndexModel.Nations.All(n => n.Value != naming.Nation), nameof(naming.Nation), "Choose one of these.");
            if (errors.ToRefusal() is { } refusal)
            {
                return refusal;
            }

            var taken = await db.Set<SchoolProfile>().TakeAsync(SchoolProfile.Only, null, "school", cancel);
            if (taken is not { Value: { } row })
            {
                return taken.Refusal!;
            }

            (row.Name, row.Zone, row.Nation) = (name, zone, naming.Nation!);
            changes.NoteFields(viewer, "school.change", null, "Changed the school's details", row);
            return SchoolInfo.Facts(row);
        },
        cancel);
}
