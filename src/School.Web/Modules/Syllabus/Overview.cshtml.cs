using System.Globalization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using School.Core.Syllabus;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Syllabus.Overview;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus;

/// <summary>How the pupils of an instructor stand: by subject, who is stale, who is near a test. The office sees everybody's.</summary>
[Needs(Permission.TeachPupils)]
internal sealed class OverviewModel(InstructorLearningReader reader, InstructorBook instructors, Viewer viewer) : PageModel
{
    public const string Everybody = "all";

    private static readonly CultureInfo English = CultureInfo.GetCultureInfo("en-GB");

    /// <summary>Whose pupils, for the office: an instructor's id, or all.</summary>
    [BindProperty(SupportsGet = true)]
    public string? Instructor { get; set; }

    /// <summary>The subject whose pupils are listed.</summary>
    [BindProperty(SupportsGet = true)]
    public string? Skill { get; set; }

    public bool Office => viewer.KeepsDiary || viewer.KeepsPupils;

    public InstructorLearning Learning { get; private set; } = null!;

    public Skill? Chosen { get; private set; }

    public IReadOnlyList<SelectListItem> Instructors { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Skills { get; private set; } = [];

    /// <summary>Pupils of the chosen subject, furthest first, then those who have not begun it.</summary>
    public IEnumerable<OverviewPupil> OfChosen => Learning.Pupils.OrderByDescending(pupil => pupil.LevelOf(Chosen!.Key)).ThenBy(pupil => pupil.Card.Name, StringComparer.CurrentCultureIgnoreCase);

    public string AddressOf(string skill) => $"/syllabus/overview?skill={Uri.EscapeDataString(skill)}{(Office ? $"&instructor={Instructor}" : "")}#pupils";

    public static string Word(SkillLevel? level) => level?.ToString() ?? "Not started";

    /// <summary>"18 hours, 5 pupils".</summary>
    public string Hours(string skill) => Learning.HoursToIndependent.GetValueOrDefault(skill) is not { } hours
        ? "–"
        : $"{(hours.AverageMinutes / 60).ToString("0.#", English)} h ({(hours.Pupils == 1 ? "1 pupil" : $"{hours.Pupils} pupils")})";

    public string NameOf(string skill) => Learning.Edition.Find(skill)?.Name ?? skill;

    public static string Percent(double share) => share.ToString("0 %", English);

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        var all = await instructors.ListAsync(alsoRetired: false, cancel);
        var whose = !Office ? viewer.InstructorId
            : Guid.TryParse(Instructor, out var id) && all.Any(i => i.Id == id) ? id
            : Instructor == Everybody || all.Count == 0 ? null
            : all[0].Id;
        Instructor = whose?.ToString() ?? Everybody;
        ModelState.Clear();
        Learning = await reader.ReadAsync(whose, cancel);
        Chosen = Learning.Edition.Find(Skill ?? "");
        Instructors = [.. all.Select(i => new SelectListItem(i.Name, i.Id.ToString())), new SelectListItem("The whole school", Everybody)];
        Skills = [.. Learning.Edition.Skills.Select(skill => new SelectListItem(skill.Name, skill.Key))];
        return Page();
    }
}
