using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.School;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.People.Instructors;

[Needs(Permission.ManageInstructors)]
internal sealed class IndexModel(SchoolDb db, AreaBook areas, SchoolInfo school, IClock clock) : PageModel
{
    private const int SoonDays = 30;

    [BindProperty(SupportsGet = true)]
    public bool Retired { get; set; }

    public IReadOnlyList<Line> Rows { get; private set; } = [];

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var today = clock.GetCurrentInstant().InZone((await school.GetAsync(cancel)).Zone).Date;
        var people = await db.Set<Person>().AsNoTracking().Where(p => p.InstructorId != null).ToDictionaryAsync(p => p.InstructorId!.Value, cancel);
        var rows = await db.Set<Instructor>().AsNoTracking().Where(i => Retired || i.RetiredOn == null || i.RetiredOn > today)
            .OrderBy(i => i.Name).ThenBy(i => i.Id).ToListAsync(cancel);
        var names = rows.Exists(i => i.Serves.Count > 0) ? (await areas.ListAsync(cancel)).ToDictionary(area => area.Id, area => area.Name) : [];
        Rows = rows.ConvertAll(i => new Line(
            i.Id, i.Name, Phone.Display(i.Phone), i.Teaches.Count == 0 ? "still to be asked" : string.Join(", ", i.Teaches.Select(g => g.ToString().ToLowerInvariant())),
            i.RegisteredTo is { } last ? ScreenWords.DayAndYear(last) : "still to be asked", Heed(i, today), SignInWords.Of(SignIns.Card(people.GetValueOrDefault(i.Id)).State),
            i.RetiredOn is { } on ? $"left {ScreenWords.DayAndYear(on)}" : null,
            i.Serves.Count == 0 ? "every place" : string.Join(", ", i.Serves.Where(names.ContainsKey).Select(id => names[id]))));
    }

    private static string? Heed(Instructor row, LocalDate today)
    {
        if (row.MayTeachUntil() == InstructorFacts.NotAsked)
        {
            return "something still to be asked";
        }

        var days = Period.DaysBetween(today, row.RegisteredTo!.Value);
        var paper = row.Registration == RegistrationKind.Trainee ? "licence" : "registration";
        return days < 0 ? $"{paper} is over" : days <= SoonDays ? $"{paper} ends soon" : null;
    }

    internal sealed record Line(Guid Id, string Name, string Phone, string Teaches, string Until, string? Heed, string SignIn, string? Left, string Serves);
}
