using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Search;

/// <summary>What choosing a time to book and choosing one to move to have in common.</summary>
internal abstract class TimesPage(InstructorBook instructors, Viewer viewer) : PageModel
{
    /// <summary>Word in the address for whichever instructor is free.</summary>
    public const string Anyone = "anyone";

    /// <summary>An instructor's id, or <see cref="Anyone"/>.</summary>
    [BindProperty(SupportsGet = true)]
    public string? With { get; set; }

    [BindProperty(SupportsGet = true)]
    public LocalDate? From { get; set; }

    /// <summary>A start that staff typed: its day.</summary>
    [BindProperty(SupportsGet = true)]
    public LocalDate? Day { get; set; }

    /// <summary>A start that staff typed: its time.</summary>
    [BindProperty(SupportsGet = true)]
    public LocalTime? Time { get; set; }

    public Viewer Viewer => viewer;

    protected InstructorBook Instructors => instructors;

    public SchoolFacts School { get; protected set; } = null!;

    public FreeWeek Week { get; protected set; } = null!;

    public IReadOnlyList<SelectListItem> Teachers { get; protected set; } = [];

    public abstract string Here(SlotQuestion question);

    public abstract string Check(OfferedTime time);

    public bool NamesTeacher => Week.Question.InstructorId is null;

    /// <summary>Only an office or a pupil chooses among instructors.</summary>
    public bool MayChooseTeacher => viewer.InstructorId is null && Teachers.Count > 1;

    protected static string WithWords(Guid? instructorId) => instructorId?.ToString() ?? Anyone;

    /// <summary>The instructor asked for, if they still teach; the usual one when nothing was asked; else whoever is free.</summary>
    protected async Task<Guid?> ReadTeacherAsync(Guid? usual, Func<InstructorCard, bool> suits, CancellationToken cancel)
    {
        var teaching = (await instructors.ListAsync(alsoRetired: false, cancel)).Where(suits).ToList();
        Teachers = [new("Whoever is free", Anyone), .. teaching.Select(i => new SelectListItem(i.Choice, i.Id.ToString()))];
        var wanted = viewer.InstructorId ?? (With == Anyone ? null : Guid.TryParse(With, out var id) ? id : usual);
        var chosen = teaching.Any(i => i.Id == wanted) ? wanted : null;
        With = WithWords(chosen);
        return chosen;
    }

    /// <summary>The day from which to show times; null when the address names none, or none that can be read.</summary>
    protected LocalDate? ReadFrom()
    {
        if (ModelState[nameof(From)] is { Errors.Count: > 0 })
        {
            ModelState.Remove(nameof(From));
            ModelState.AddModelError("", "The day in this address cannot be read, so you see the first free times.");
        }

        return From;
    }

    /// <summary>The start that staff typed; null when none was, or when it is wrong and the form says so.</summary>
    protected Instant? ReadTyped()
    {
        if (!viewer.IsStaff || !(Request.Query.ContainsKey(nameof(Day)) || Request.Query.ContainsKey(nameof(Time))))
        {
            return null;
        }

        Missing(nameof(Day), Day is null, "Enter the day");
        Missing(nameof(Time), Time is null, "Enter the time");
        if (!ModelState.IsValid || Day is not { } day || Time is not { } time)
        {
            return null;
        }

        var errors = new FieldErrors();
        var start = errors.ReadStart(nameof(Time), day + time, School.Zone);
        if (errors.ToRefusal() is { } skipped)
        {
            this.AddRefusal(skipped);
            return null;
        }

        return start;
    }

    private void Missing(string field, bool missing, string sentence)
    {
        if (missing && ModelState[field] is not { Errors.Count: > 0 })
        {
            ModelState.AddModelError(field, sentence);
        }
    }
}
