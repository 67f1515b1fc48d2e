using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;
using School.Web.Platform.Keys;

namespace School.Web.Modules.Office;

/// <summary>How it stands with the key file, and what to do about it.</summary>
[Needs(Permission.RunJobs)]
internal sealed class KeysModel(KeyRing ring) : PageModel
{
    public KeysAre Are { get; private set; }

    public void OnGet() => Are = ring.Look().Are;
}
