using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Messages;

[Needs(Permission.SeeMessages)]
internal sealed class IndexModel(MessageList list, SendAllAgain sendAll, Viewer viewer, MailSettings settings, MailFolder folder, SchoolInfo school) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public string? State { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Cursor { get; set; }

    public IReadOnlyList<MessageLine> Lines { get; private set; } = [];

    public Pager Pager { get; private set; } = new("Messages", null, null, null);

    /// <summary>Null where a mail server takes the messages.</summary>
    public string? Folder => settings.HasServer ? null : folder.Path;

    public IReadOnlyList<SelectListItem> States { get; } =
        [.. Enum.GetValues<MessageState>().Select(s => new SelectListItem(MessageWords.Of(s), s.ToString().ToLowerInvariant()))];

    /// <summary>How many failed messages could still be sent.</summary>
    public int Failed { get; private set; }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var again = await sendAll.RunAsync(viewer, cancel);
        if (!again.Ok)
        {
            this.AddRefusal(again.Refusal);
            await OnGetAsync(cancel);
            return Page();
        }

        TempData["Done"] = SentWords(again.Value);
        return Redirect("/messages");
    }

    private static string SentWords(SentAgain again) =>
        (again.Waiting == 1 ? "One message waits to be sent again. It goes within a minute." : $"{again.Waiting} messages wait to be sent again. They go within minutes.")
        + (again.Past == 0 ? "" : again.Past == 1 ? " One speaks of something past and stays." : $" {again.Past} speak of something past and stay.");

    public async Task OnGetAsync(CancellationToken cancel)
    {
        State = State?.ToLowerInvariant();
        Func<int> failed = () => 0;
        var page = await list.ReadAsync(State, null, Cursor, (row, subject) => (row, subject), cancel, together => failed = list.Failed(together));
        Failed = page.Ok ? failed() : 0;
        if (!page.Ok)
        {
            this.AddRefusal(page.Refusal);
            return;
        }

        var facts = await school.GetAsync(cancel);
        Lines = [.. page.Value.Items.Select(one => MessageLine.Of(one.row, one.subject, facts))];
        var here = $"/messages?state={Uri.EscapeDataString(State ?? "")}";
        Pager = new(
            "Messages",
            Cursor is null ? null : new(here, "Newest"),
            null,
            page.Value.Next is { } next ? new($"{here}&cursor={next}", "Older") : null);
    }

    internal sealed record MessageLine(Guid Id, string Subject, string To, string State, bool Failed, string When)
    {
        public static MessageLine Of(Message row, string subject, SchoolFacts school) => new(
            row.Id, subject, row.ToName, MessageWords.Of(row.State), row.State == MessageState.Failed,
            MessageWords.When(school, row));
    }
}
