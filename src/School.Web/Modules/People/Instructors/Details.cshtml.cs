using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.People.Instructors;

[Needs(Permission.ManageInstructors)]
internal sealed class DetailsModel(SchoolDb db, ChangeInstructor change, RetireInstructor retire, SignIns signIns, AreaBook areas, SchoolInfo school, MailWay mail, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    /// <summary>The version that was opened; a change in between is told, not overwritten.</summary>
    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public InstructorForm Input { get; set; } = new();

    [BindProperty]
    public LocalDate? On { get; set; }

    public string Name { get; private set; } = "";

    public string? Left { get; private set; }

    /// <summary>The areas by their names, or every place.</summary>
    public string Serves { get; private set; } = "";

    public SignInCard Standing { get; private set; } = SignInCard.None;

    public string SignInSentence { get; private set; } = "";

    /// <summary>What is still needed before the first lesson, in words.</summary>
    public IReadOnlyList<string> StillNeeded { get; private set; } = [];

    public bool MayInvite => MayGiveHats && Standing.State != SignInState.SignsIn && Left is null && HasEmail;

    public bool MayGiveHats => viewer.May(Permission.GiveHats);

    private bool HasEmail { get; set; }

    public bool MayClose => Standing.State is SignInState.SignsIn or SignInState.Invited;

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await RowAsync(cancel) is not { } row)
        {
            return NotFound();
        }

        Input = InstructorForm.Of(row);
        Version = row.Version;
        return await ShowAsync(row, cancel);
    }

    public Task<IActionResult> OnPostAsync(CancellationToken cancel) => ChangeAsync(
        nameof(Input), _ => change.RunAsync(viewer, Id, Input.ToInput(), Version, cancel), row => $"What you changed about {row.Name} is kept.", cancel);

    public Task<IActionResult> OnPostRetireAsync(CancellationToken cancel) => ChangeAsync(
        "",
        async row => row.RetiredOn is null && On is null
            ? Refusal.Invalid(nameof(On), "Enter the day from which they teach no more.")
            : await retire.RunAsync(viewer, Id, row.RetiredOn is null ? On : null, Version, cancel),
        row => row.RetiredOn is { } on ? $"{row.Name} teaches no more from {ScreenWords.DayAndYear(on)}." : $"{row.Name} teaches again.",
        cancel);

    public async Task<IActionResult> OnPostInviteAsync(CancellationToken cancel)
    {
        if (await RowAsync(cancel) is not { } row)
        {
            return NotFound();
        }

        return await TellAsync(row, await signIns.InviteInstructorAsync(viewer, row.Id, row.Name, row.Email, cancel), mail.Invited(row.Email), cancel);
    }

    public async Task<IActionResult> OnPostCloseAsync(CancellationToken cancel)
    {
        if (await RowAsync(cancel) is not { } row || (await signIns.OfInstructorAsync(Id, cancel)).PersonId is not { } person)
        {
            return NotFound();
        }

        return await TellAsync(row, await signIns.CloseAsync(viewer, person, cancel), $"{row.Name} cannot sign in any more.", cancel);
    }

    private async Task<IActionResult> ChangeAsync(
        string prefix, Func<Instructor, Task<Outcome<Instructor>>> change, Func<Instructor, string> done, CancellationToken cancel)
    {
        if (await RowAsync(cancel) is not { } row)
        {
            return NotFound();
        }

        if (ModelState.IsValid)
        {
            var changed = await change(row);
            if (changed.Ok)
            {
                TempData["Done"] = done(changed.Value);
                return RedirectToPage(new { Id });
            }

            this.AddRefusal(changed.Refusal, prefix);
        }

        if (prefix.Length == 0)
        {
            // The details were not sent with the other form of the page, and must not stand there empty.
            Input = InstructorForm.Of(row);
        }

        return await ShowAsync(row, cancel);
    }

    private async Task<IActionResult> TellAsync(Instructor row, Outcome<SignInCard> outcome, string done, CancellationToken cancel)
    {
        if (outcome.Ok)
        {
            TempData["Done"] = done;
            return RedirectToPage(new { Id });
        }

        ModelState.Clear();
        ModelState.AddModelError("", outcome.Refusal.For(Viewer.From(User)));
        Input = InstructorForm.Of(row);
        return await ShowAsync(row, cancel);
    }

    private Task<Instructor?> RowAsync(CancellationToken cancel) => db.Set<Instructor>().AsNoTracking().SingleOrDefaultAsync(i => i.Id == Id, cancel);

    private async Task<PageResult> ShowAsync(Instructor row, CancellationToken cancel)
    {
        Name = row.Name;
        (HasEmail, StillNeeded) = (row.Email.Length > 0, row.RetiredOn is null ? [.. row.StillNeeded().Select(need => need.Words)] : []);
        Left = row.RetiredOn is { } on ? ScreenWords.DayAndYear(on) : null;
        Serves = row.Serves.Count == 0 ? "every place" : string.Join(", ", (await areas.ListAsync(cancel)).Where(area => row.Serves.Contains(area.Id)).Select(area => area.Name));
        Standing = await signIns.OfInstructorAsync(Id, cancel);
        var zone = (await school.GetAsync(cancel)).Zone;
        SignInSentence = Standing.State switch
        {
            SignInState.NotInvited or SignInState.Closed when !HasEmail => "Cannot be invited yet: no e-mail address is entered.",
            SignInState.NotInvited => "Not invited yet.",
            SignInState.Invited => $"Invited as {Standing.Email}; no password chosen yet.",
            SignInState.SignsIn when Standing.LastSignIn is { } last => $"Signs in as {Standing.Name}, last on {ScreenWords.DayAndYear(last.InZone(zone).Date)}.",
            SignInState.SignsIn => $"Signs in as {Standing.Name}.",
            SignInState.Closed => "Closed. A new invitation opens it again.",
        };
        return Page();
    }
}
