using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Travel;

/// <summary>The newest recorded drives, to take back what was recorded wrongly: one's own, or anybody's for the office.</summary>
[Needs(Permission.DriveTheDay)]
internal sealed class DrivesModel(SchoolDb db, RemoveLeg remove, InstructorBook instructors, SchoolInfo school, Viewer viewer) : PageModel
{
    private const int Shown = 50;

    [BindProperty(SupportsGet = true)]
    public Guid? InstructorId { get; set; }

    public IReadOnlyList<RecordedDrive> Drives { get; private set; } = [];

    public IReadOnlyDictionary<Guid, string> Names { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public bool Own => !viewer.KeepsDiary;

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var whose = viewer.KeepsDiary ? InstructorId : viewer.InstructorId;
        (Names, School) = (await instructors.NamesAsync(cancel), await school.GetAsync(cancel));
        Drives = await db.Set<RecordedDrive>().AsNoTracking().Where(d => d.ArrivedAt != null && (whose == null || d.InstructorId == whose))
            .OrderByDescending(d => d.LeftAt).Take(Shown).ToListAsync(cancel);
    }

    public async Task<IActionResult> OnPostAsync(Guid instructorId, Guid legId, CancellationToken cancel)
    {
        if (!viewer.MayRecordFor(instructorId))
        {
            return NotFound();
        }

        // Gone already is as good as gone now.
        await remove.RunAsync(viewer, instructorId, legId, cancel);
        TempData["Done"] = "Drive deleted.";
        return RedirectToPage();
    }

    public string When(RecordedDrive drive)
    {
        var (left, arrived) = (drive.LeftAt.InZone(School.Zone).LocalDateTime, drive.ArrivedAt!.Value.InZone(School.Zone).LocalDateTime);
        return ScreenWords.When(left.Date, left.TimeOfDay, arrived.TimeOfDay, School.TwelveHourClock);
    }
}
