using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Find;

namespace School.Web.Modules.Pupils;

/// <summary>
/// People beside pupils: for who keeps them all of them, by number or address those who stand beside a pupil of whom more than the name is seen or beside nobody; for others of the staff
/// those beside such a pupil.
/// </summary>
internal sealed class ContactsFound(SchoolDb db, ContactBook contacts, OwnPupils own) : IFind
{
    public FoundKind Kind => FoundKind.Contact;

    public async Task<IReadOnlyList<Found>> FindAsync(Viewer viewer, Question question, int most, CancellationToken cancel)
    {
        if (!viewer.SeesPupils || !viewer.May(Permission.OwnDetails))
        {
            return [];
        }

        var seen = await own.SeenAsync(viewer, cancel);
        var rows = db.Set<BesidePupil>();
        var beside = seen is null ? rows : rows.Where(b => seen.Contains(b.PupilId));
        var open = beside.Select(b => b.ContactId);
        var byName = seen is null ? null : rows.Where(b => !open.Contains(b.ContactId)).Select(b => b.ContactId);
        var found = await contacts.FoundAsync(question, viewer.KeepsPupils ? null : open, byName, most, cancel);
        Guid[] ids = [.. found.Select(one => one.Id)];
        var shown = viewer.KeepsPupils ? rows : beside;
        var pupils = ids.Length == 0 ? [] : await shown.Where(b => ids.Contains(b.ContactId)).Join(db.Set<Pupil>(), b => b.PupilId, p => p.Id, (b, p) => new { b.ContactId, p.Id, p.Name })
            .OrderBy(b => b.Name).ThenBy(b => b.Id).ToListAsync(cancel);
        return
        [
            .. found.Select(one => (one, Pupils: pupils.Where(p => p.ContactId == one.Id).ToList())).Where(one => viewer.KeepsPupils || one.Pupils.Count > 0).Select(one => new Found(
                Kind, one.one.Id, one.one.Label, one.Pupils.Count == 0 ? "" : $"for {string.Join(", ", one.Pupils.Select(p => p.Name))}",
                viewer.KeepsPupils ? $"/pupils/contacts/{one.one.Id}" : $"/pupils/{one.Pupils[0].Id}/beside",
                question.Digits.Length + question.Address.Length > 0 ? Fit.Whole : question.FitOf(one.one.Plain))),
        ];
    }
}
