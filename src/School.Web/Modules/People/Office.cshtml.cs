using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Who is of the office, and who may do what in it.</summary>
[Needs(Permission.GiveHats)]
internal sealed class OfficeModel(SchoolDb db, InvitePerson invite, CloseSignIn close, MailWay mail, Viewer viewer) : PageModel
{
    public IReadOnlyList<Line> Rows { get; private set; } = [];

    [BindProperty]
    public string? Name { get; set; }

    [BindProperty]
    public string? Email { get; set; }

    [BindProperty]
    public PartsForm Parts { get; set; } = new();

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var people = await db.Set<Person>().AsNoTracking().Where(p => p.Parts != OfficeParts.None).OrderBy(p => p.Name).ThenBy(p => p.Id).ToListAsync(cancel);
        Rows = people.ConvertAll(p => new Line(
            p.Id, p.Name, p.UserName ?? p.Email!, HatWords.Of(p.Parts), SignInWords.Of(SignIns.Card(p).State), p.TwoFactorEnabled, !p.Closed && p.Id != viewer.PersonId));
    }

    public async Task<IActionResult> OnPostInviteAsync(CancellationToken cancel)
    {
        var invited = await invite.RunAsync(viewer, new(Name, Email, Parts.ToParts()), cancel);
        return invited.Ok ? Done(mail.Invited(invited.Value.Person.Email!)) : await AgainAsync(invited.Refusal, cancel);
    }

    public async Task<IActionResult> OnPostCloseAsync(Guid id, CancellationToken cancel)
    {
        if (!await db.Set<Person>().AnyAsync(p => p.Id == id && p.Parts != OfficeParts.None, cancel))
        {
            return NotFound();
        }

        var closed = await close.RunAsync(viewer, id, cancel);
        return closed.Ok ? Done($"{closed.Value.Name} cannot sign in any more.") : await AgainAsync(closed.Refusal, cancel);
    }

    private RedirectToPageResult Done(string sentence)
    {
        TempData["Done"] = sentence;
        return RedirectToPage();
    }

    private async Task<PageResult> AgainAsync(Refusal refusal, CancellationToken cancel)
    {
        this.AddRefusal(refusal);
        await OnGetAsync(cancel);
        return Page();
    }

    internal sealed record Line(Guid Id, string Name, string SignInName, string Parts, string SignIn, bool SecondStep, bool MayClose);
}
