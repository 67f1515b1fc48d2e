using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.School;

/// <summary>What the form about the school holds, as typed.</summary>
internal sealed class SchoolForm
{
    public string? Name { get; set; }

    public string? Phone { get; set; }

    public string? Email { get; set; }

    public string? Zone { get; set; }

    public bool TwelveHourClock { get; set; }

    public string? Nation { get; set; }

    public string? Terms { get; set; }

    public bool PupilsBelongToInstructor { get; set; }
}

/// <summary>Changes the school's profile, unless somebody changed it since it was opened.</summary>
internal sealed class SaveSchool(SchoolDb db, INoteChanges changes)
{
    public const int LongestName = 80;
    public const string NoSuchZone = "There is no zone of this name. It is like Europe/London.";
    private const int LongestTerms = 5000;

    public Task<Outcome<SchoolProfile>> RunAsync(Viewer viewer, SchoolForm form, int? expected, CancellationToken cancel) => db.InTransactionAsync<SchoolProfile>(
        async cancel =>
        {
            var errors = new FieldErrors();
            var name = errors.ReadLine(nameof(form.Name), form.Name, LongestName, "Enter the school's name.");
            var phone = string.IsNullOrWhiteSpace(form.Phone) ? "" : errors.ReadPhone(nameof(form.Phone), form.Phone);
            var email = string.IsNullOrWhiteSpace(form.Email) ? "" : errors.ReadEmail(nameof(form.Email), form.Email);
            var zone = (form.Zone ?? "").Trim();
            errors.When(DateTimeZoneProviders.Tzdb.GetZoneOrNull(zone) is null, nameof(form.Zone), NoSuchZone);
            errors.When(IndexModel.Nations.All(n => n.Value != form.Nation), nameof(form.Nation), "Choose one of these.");
            var terms = errors.ReadLines(nameof(form.Terms), form.Terms, LongestTerms);
            if (errors.ToRefusal() is { } refusal)
            {
                return refusal;
            }

            var taken = await db.Set<SchoolProfile>().TakeAsync(SchoolProfile.Only, expected, "school", cancel);
            if (taken is not { Value: { } row })
            {
                return taken;
            }

            (row.Name, row.Phone, row.Email, row.Zone) = (name, phone, email, zone);
            (row.TwelveHourClock, row.Nation, row.Terms) = (form.TwelveHourClock, form.Nation!, terms);
            row.PupilsBelongToInstructor = form.PupilsBelongToInstructor;
            changes.NoteFields(viewer, "school.change", null, "Changed the school's details", row);
            return row;
        },
        cancel);
}
