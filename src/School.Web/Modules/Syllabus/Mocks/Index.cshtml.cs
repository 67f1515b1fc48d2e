using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;
using School.Core.Diary.TestDays;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>A mock test or an official one, as they stand next to each other.</summary>
internal sealed record Trial(string Address, LocalDate On, bool IsReal, TestMarks Marks, bool Passed, IReadOnlyList<HeadingMarks> ByHeading)
{
    private static readonly LocalDatePattern Day = LocalDatePattern.CreateWithInvariantCulture("d MMM");

    public string Short => Day.Format(On);

    /// <summary>"2", "1 S", "2, 1 D"; a dash for none.</summary>
    public string Cell(string heading)
    {
        var marks = ByHeading.FirstOrDefault(of => of.Heading == heading)?.Marks ?? default;
        var parts = new[]
        {
            marks.Driving > 0 ? $"{marks.Driving}" : "", marks.Serious > 0 ? $"{marks.Serious} S" : "", marks.Dangerous > 0 ? $"{marks.Dangerous} D" : "",
        };
        return string.Join(", ", parts.Where(part => part.Length > 0)) is { Length: > 0 } words ? words : "–";
    }
}

/// <summary>A pupil's mock tests next to each other and to the official ones.</summary>
[Needs(Permission.SeeLearning)]
[OfPupil("pupil", Sight.ByReason)]
internal sealed class IndexModel(SchoolDb db, MockBook mocks, TestBook tests, PupilBook pupils, SchoolInfo school, Viewer viewer) : PageModel
{
    private const int MostColumns = 6;

    public PupilCard Card { get; private set; } = null!;

    public bool Staff => viewer.Towards(Card.Id).KeepsLearning;

    /// <summary>By day.</summary>
    public IReadOnlyList<Trial> Trials { get; private set; } = [];

    public IReadOnlyList<Trial> Columns { get; private set; } = [];

    public IReadOnlyList<TestHeading> Headings { get; private set; } = [];

    public IReadOnlyList<MockTest> Open { get; private set; } = [];

    public async Task<IActionResult> OnGetAsync(Guid? pupil, CancellationToken cancel)
    {
        if ((pupil ?? viewer.PupilId) is not { } id)
        {
            return Redirect("/pupils");
        }

        if (await pupils.FindAsync(id, viewer, cancel) is not { } card)
        {
            return NotFound();
        }

        Card = card;
        var zone = (await school.GetAsync(cancel)).Zone;
        Trials =
        [
            .. (await mocks.OfPupilAsync(id, cancel)).Select(mock => new Trial(MockWords.Address(mock.Id), mock.On, false, mock.Marks, mock.Passed, mock.ByHeading))
                .Concat(from test in await tests.OfPupilsAsync([id], cancel)
                        where test.Passed is not null
                        select new Trial($"/diary/test-days/{test.Id}", test.StartsAt.InZone(zone).Date, true, test.Sum, test.Passed == true, test.ByHeading))
                .OrderBy(trial => trial.On),
        ];
        Columns = [.. Trials.TakeLast(MostColumns)];
        var marked = Columns.SelectMany(trial => trial.ByHeading).Select(of => of.Heading).ToHashSet(StringComparer.Ordinal);
        Headings = [.. TestHeadings.All.Where(heading => marked.Contains(heading.Code))];
        Open = await db.Set<MockTest>().AsNoTracking().VisibleTo(viewer).Where(m => m.PupilId == id && m.FinishedAt == null).OrderBy(m => m.StartedAt).ToListAsync(cancel);
        return Page();
    }
}
