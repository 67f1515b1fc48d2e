using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Core.Cars;
using School.Core.Diary;

namespace School.Web.Modules.Diary.Day;

/// <summary>A page of the days of all instructors, or of those whom its address asks for.</summary>
internal abstract class FilteredDays : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid? Area { get; set; }

    [BindProperty(SupportsGet = true)]
    public Gearbox? Gearbox { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? Car { get; set; }

    [BindProperty(SupportsGet = true)]
    public RegistrationKind? Group { get; set; }

    /// <summary>"open" where the fields of the filter are shown.</summary>
    [BindProperty(SupportsGet = true)]
    public string? Filter { get; set; }

    public bool Choosing => Filter == "open";

    protected ShownOnly Asked => ModelState.IsValid ? new(Area, Gearbox, Car, Group) : new(null, null, null, null);
}

/// <summary>The filter of such a page.</summary>
/// <param name="All">The same page without it.</param>
/// <param name="Open">The same page with its fields.</param>
/// <param name="Kept">What else the address says.</param>
/// <param name="Count">How many are shown.</param>
internal sealed record ShownFilter(ShownInstructors Shown, string Action, string All, string Open, IReadOnlyList<(string Name, string Value)> Kept, int Count);
