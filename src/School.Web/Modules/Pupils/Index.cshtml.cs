using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils;

[Needs(Permission.SeePupils)]
internal sealed class IndexModel(SchoolDb db, OwnPupils own, SchoolInfo school, InstructorBook instructors, Viewer viewer, IClock clock) : PageModel
{
    private const int PerPage = 50;

    [BindProperty(SupportsGet = true)]
    public string? Q { get; set; }

    [BindProperty(SupportsGet = true)]
    public bool Retired { get; set; }

    /// <summary>Which page of the list, from 1.</summary>
    [BindProperty(SupportsGet = true)]
    public int Part { get; set; } = 1;

    public bool MayManage => viewer.May(Permission.ManagePupils);

    public bool Teaches => viewer.InstructorId is not null;

    public IReadOnlyList<Line> Rows { get; private set; } = [];

    public Pager Pager { get; private set; } = new("Pages of the list", null, null, null);

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var part = Math.Clamp(Part, 1, 1000);
        var together = new ReadTogether(db);
        school.Ahead(together);
        instructors.Ahead(together);
        var seen = await own.SeenAsync(viewer, cancel);
        var rows = together.Ask(db.Set<Pupil>().AsNoTracking().Learning(Retired).Matching(Q, seen)
            .OrderBy(p => p.Name).ThenBy(p => p.Id).Skip((part - 1) * PerPage).Take(PerPage + 1));
        await together.RunAsync(cancel);
        var found = rows.All;
        var today = (await school.GetAsync(cancel)).Today(clock);
        var names = await instructors.NamesAsync(cancel);
        var sees = await own.OfAsync(viewer, [.. found.Select(p => p.Id)], cancel);
        Rows = [.. found.Take(PerPage).Select(p => sees[p.Id] == Sight.Name ? Line.OfName(p.Id, p.Name, OwnPupils.IsOffice(viewer) && p.UsualInstructorId is { } with ? names.GetValueOrDefault(with) : null) : new Line(
            p.Id, p.Name, p.Phone.Length > 0 ? Phone.Link(p.Phone) : null, Phone.Display(p.Phone), p.Gearbox?.Words() ?? "still to be asked", p.UsualInstructorId is { } id ? names.GetValueOrDefault(id) : null, p.Need,
            p.Missing() != FirstLessonNeeds.None ? "something still to be asked" : Eligibility.Of(p.LearnerFacts(), today).Any(b => b.Stops) ? "may not drive yet" : null,
            p.RetiredOn is { } left ? $"left {ScreenWords.DayAndYear(left)}" : null))];
        Pager = Pager.OfParts("Pages of the list", part, found.Count > PerPage, other => Url.Page("Index", new { Q, Retired, Part = other })!);
    }

    internal sealed record Line(
        Guid Id, string Name, string? Dial, string Phone, string Gearbox, string? Instructor, string Need, string? Heed, string? Left)
    {
        /// <summary>Whether more than the name is seen.</summary>
        public bool Seen { get; private init; } = true;

        /// <summary>With whom they learn is told to the office, which has to ask them.</summary>
        public static Line OfName(Guid id, string name, string? instructor) => new(id, name, null, "", "", instructor, "", null, null) { Seen = false };
    }
}
