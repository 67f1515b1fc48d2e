using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Diary.Settings;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>The school's numbers for test days.</summary>
[Needs(Permission.ManageSchool), ShowsWhatStands]
internal sealed class SettingsModel(SchoolDb db, SaveTestDaySettings save, Viewer viewer) : PageModel
{
    [BindProperty]
    public NumbersInput Input { get; set; } = new();

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var row = await db.Set<TestDaySettings>().AsNoTracking().SingleAsync(cancel);
        Input = new()
        {
            LeadMinutes = row.LeadMinutes,
            TestMinutes = row.TestMinutes,
            ExtendedMinutes = row.ExtendedMinutes,
            TailMinutes = row.TailMinutes,
            NoticeDays = row.NoticeDays,
            RetestDays = row.RetestDays,
            Version = row.Version,
        };
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var body = new TestDaySettingsBody
        {
            LeadMinutes = Input.LeadMinutes,
            TestMinutes = Input.TestMinutes,
            ExtendedMinutes = Input.ExtendedMinutes,
            TailMinutes = Input.TailMinutes,
            NoticeDays = Input.NoticeDays,
            RetestDays = Input.RetestDays,
        };
        var outcome = await save.RunAsync(viewer, body, Input.Version, cancel);
        if (outcome.Ok)
        {
            TempData["Done"] = "Saved. It holds for test days entered from now on.";
            return LocalRedirect("/diary/test-days/settings");
        }

        this.AddRefusal(outcome.Refusal, outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        return Page();
    }

    internal sealed class NumbersInput
    {
        public int LeadMinutes { get; set; }

        public int TestMinutes { get; set; }

        public int ExtendedMinutes { get; set; }

        public int TailMinutes { get; set; }

        public int NoticeDays { get; set; }

        public int RetestDays { get; set; }

        public int Version { get; set; }
    }
}
