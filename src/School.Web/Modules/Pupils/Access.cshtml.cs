using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils;

/// <summary>A pupil of somebody else: the name, and where a reason is given to see more until midnight.</summary>
[Needs(Permission.SeePupils)]
internal sealed class AccessModel(SchoolDb db, OwnPupils own, OpenByReason open, InstructorBook instructors, SignIns signIns, MailWay mail, Viewer viewer) : PageModel
{
    /// <summary>What is pressed instead of typed.</summary>
    public static readonly IReadOnlyList<string> Likely = ["They or their family called me", "I am asked to take a lesson of theirs", "Something happened on a drive"];

    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    /// <summary>The page that was wanted.</summary>
    [BindProperty(SupportsGet = true)]
    public string? To { get; set; }

    /// <summary>The page that was wanted is for who teaches them, and no reason opens it.</summary>
    [BindProperty(SupportsGet = true)]
    public bool Own { get; set; }

    [BindProperty]
    public string? Reason { get; set; }

    public Viewer Viewer => viewer;

    public string Name { get; private set; } = "";

    public bool Open { get; private set; }

    /// <summary>Asked as the office, of a pupil who belongs to their instructor.</summary>
    public bool Office => OwnPupils.IsOffice(viewer);

    public bool MayHandOver => viewer.May(Permission.ArrangeCover) && !IsRetired;

    public bool MayManage => viewer.KeepsPupils;

    public bool IsRetired { get; private set; }

    /// <summary>Whom to ask.</summary>
    public string? Instructor { get; private set; }

    /// <summary>How it stands with their sign-in, without the address; null where that is not the viewer's to see to.</summary>
    public string? SignInSentence { get; private set; }

    public bool MayInvite { get; private set; }

    public bool OwnOnly => Own && !Open;

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel) => await LoadAsync(cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostAsync(string? likely, CancellationToken cancel)
    {
        var opened = await open.RunAsync(viewer, Id, new(string.IsNullOrWhiteSpace(likely) ? Reason ?? "" : likely), cancel);
        if (opened.Ok)
        {
            TempData["Done"] = "Contact, places and record are open to you until midnight.";
            return LocalRedirect(Url.LocalOr(To, $"/pupils/{Id}"));
        }

        if (!await LoadAsync(cancel))
        {
            return NotFound();
        }

        this.AddRefusal(opened.Refusal);
        return Page();
    }

    /// <summary>Whoever looks after people invites those of whom they see the name alone: where the letter goes is not told.</summary>
    public async Task<IActionResult> OnPostInviteAsync(CancellationToken cancel)
    {
        if (!Office || !MayManage)
        {
            return Forbid();
        }

        if (await db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == Id, cancel) is not { } pupil)
        {
            return NotFound();
        }

        var invited = await signIns.InvitePupilAsync(viewer, pupil.Id, pupil.Name, pupil.Email, cancel);
        if (invited.Ok)
        {
            TempData["Done"] = mail.Invited(pupil.Name);
            return LocalRedirect(OwnPupils.PageOf(Id));
        }

        if (!await LoadAsync(cancel))
        {
            return NotFound();
        }

        this.AddRefusal(invited.Refusal);
        return Page();
    }

    private async Task<bool> LoadAsync(CancellationToken cancel)
    {
        if (await db.Set<Pupil>().Where(p => p.Id == Id).VisibleTo(viewer).Select(p => new { p.Name, p.RetiredOn, p.UsualInstructorId, HasEmail = p.Email != "" }).SingleOrDefaultAsync(cancel) is not { } pupil)
        {
            return false;
        }

        (Name, IsRetired, Open) = (pupil.Name, pupil.RetiredOn is not null, await own.OfAsync(viewer, Id, cancel) == Sight.Everything);
        Instructor = Office && !Open && pupil.UsualInstructorId is { } id ? (await instructors.FindAsync(id, cancel))?.Name : null;
        if (Office && MayManage && !Open && !IsRetired)
        {
            var card = await signIns.OfPupilAsync(Id, cancel);
            MayInvite = card.State != SignInState.SignsIn && pupil.HasEmail;
            SignInSentence = card.State switch
            {
                SignInState.NotInvited or SignInState.Closed when !pupil.HasEmail => "Cannot be invited yet: no e-mail address is entered.",
                SignInState.NotInvited => "Not invited yet.",
                SignInState.Invited => "Invited; no password chosen yet.",
                SignInState.SignsIn => "Signs in.",
                SignInState.Closed => "Closed. A new invitation opens it again.",
            };
        }

        return true;
    }
}
