using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus.Queue;

/// <summary>What this browser keeps for working without signal: records that are not yet sent, and pages. All of it is drawn by script.</summary>
[Needs(Permission.RecordLessons)]
internal sealed class IndexModel(IAntiforgery antiforgery, Viewer viewer) : PageModel
{
    /// <summary>Who would be sending now, and the token that the forms of this sign-in carry.</summary>
    public IActionResult OnGetSender() => new JsonResult(new Sender(viewer.PersonId, antiforgery.GetAndStoreTokens(HttpContext).RequestToken!));
}

internal sealed record Sender(Guid PersonId, string Token);
