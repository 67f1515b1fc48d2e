using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Messages.Writing;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Messages;

[Needs(Permission.SeeMessages)]
internal sealed class DetailsModel(MessageList list, SendAgain sendAgain, ISeeReceivers sees, SchoolInfo school, Viewer viewer) : PageModel
{
    private SchoolFacts? _school;

    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    public Message Message { get; private set; } = null!;

    public MadeLetter Says { get; private set; } = null!;

    public bool MayRead { get; private set; }

    /// <summary>Of whom it is to, the viewer sees the name alone.</summary>
    public bool ByName { get; private set; }

    /// <summary>What it says is for whom it is to, and who teaches them.</summary>
    public bool Theirs { get; private set; }

    public bool? AsSent { get; private set; }

    public IEnumerable<string[]> Paragraphs => Says.Text.ReplaceLineEndings("\n").Trim().Split("\n\n").Select(p => p.Trim('\n').Split('\n'));

    public string When(Instant moment) => MessageWords.Moment(_school!, moment);

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel) => await FillAsync(cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var again = await sendAgain.RunAsync(viewer, Id, cancel);
        if (again.Ok)
        {
            TempData["Done"] = "The message waits to be sent again. It goes within a minute.";
            return Redirect($"/messages/{Id}");
        }

        this.AddRefusal(again.Refusal);
        return await FillAsync(cancel) ? Page() : NotFound();
    }

    private async Task<bool> FillAsync(CancellationToken cancel)
    {
        _school = await school.GetAsync(cancel);
        if (await list.FindAsync(Id, cancel) is not { } found)
        {
            return false;
        }

        var seen = await sees.OfAsync(viewer, [found.Row.To], cancel);
        (ByName, Theirs) = (!seen.Reached(found.Row.To), !seen.Read(found.Row.To));
        (Message, Says, MayRead, AsSent) = (found.Row, found.Told, list.MayRead(viewer, found.Row) && !Theirs, found.AsSent);
        return true;
    }
}
