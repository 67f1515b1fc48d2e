using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.Pupils;

/// <summary>Invites somebody beside a pupil to sign in: the pupil themselves, or the office. What they then see is what each pupil allows.</summary>
internal sealed class InviteBeside(SchoolDb db, OwnPupils own, ContactBook contacts, SignIns signIns, Attempts attempts)
{
    /// <summary>A pupil has six people beside them at most; some letters go astray.</summary>
    public const int MostADay = 12;

    private static readonly Duration Window = Duration.FromDays(1);

    public async Task<Outcome<SignInCard>> RunAsync(Viewer viewer, Guid id, Guid contactId, CancellationToken cancel)
    {
        // Their letters go to addresses that the pupil typed.
        if (viewer.PupilId == id && !viewer.KeepsPupils && !await attempts.AllowAsync("invite-beside", id.ToString(), MostADay, Window, cancel))
        {
            return new Refusal(RefusalKind.TooMany, "too_many_invitations", "That was a lot of invitations for one day. Go on tomorrow, or ask the office.") { RetryAfter = attempts.LeftOf(Window) };
        }

        return await db.InTransactionAsync<SignInCard>(
            async cancel =>
            {
                // Not while the contact is being removed or forgotten.
                await db.LockAsync([$"beside:{id}", ContactLock.Of(contactId)], cancel);
                var pupil = await db.Set<Pupil>().AsNoTracking().BesideChangeableBy(viewer).Where(p => p.Id == id).Select(p => new { p.RetiredOn }).SingleOrDefaultAsync(cancel);
                if (pupil is null || !await db.Set<BesidePupil>().AnyAsync(b => b.PupilId == id && b.ContactId == contactId, cancel)
                    || await contacts.FindAsync(contactId, cancel) is not { } contact)
                {
                    return Refusal.NotFound("contact");
                }

                return await own.RefuseUnseenAsync(viewer, id, cancel) is { } unseen ? unseen
                    : pupil.RetiredOn is not null ? PupilRefusals.Left
                    : contact.Email.Length == 0 ? Refusal.Rule(
                        "contact_without_email",
                        new("An invitation goes by e-mail, and no address is known of them. Enter one first.", "An invitation goes by e-mail, and no address is known of them. Ask the office to enter one."))
                    : await signIns.InviteContactAsync(viewer, contact, cancel);
            },
            cancel);
    }
}
