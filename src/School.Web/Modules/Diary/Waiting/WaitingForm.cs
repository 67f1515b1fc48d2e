using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>What the two pages that ask for a wish have in common.</summary>
internal abstract class WaitingForm(InstructorBook instructors, PictureLoader pictures, Viewer viewer) : PageModel
{
    protected InstructorBook Instructors { get; } = instructors;

    [BindProperty]
    public WaitingFor? For { get; set; }

    [BindProperty]
    public Guid? With { get; set; }

    [BindProperty]
    public LocalDate? From { get; set; }

    [BindProperty]
    public LocalDate? To { get; set; }

    [BindProperty]
    public LessonKind? Kind { get; set; }

    /// <summary>The kinds of lesson that can be waited for.</summary>
    public IReadOnlyList<SelectListItem> LessonKinds { get; private set; } = [];

    public DiaryRules Rules { get; private set; } = new();

    public IReadOnlyList<SelectListItem> Teachers { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Kinds { get; } =
    [
        new(viewer.IsStaff ? "The next lesson earlier" : "Take my next lesson earlier", nameof(WaitingFor.EarlierLesson)),
        new("An extra lesson, on any day between two dates", nameof(WaitingFor.AnyLesson)),
    ];

    public Viewer Viewer { get; } = viewer;

    /// <summary>The wish as typed; days that a change of mind left in the form are not meant.</summary>
    protected ChangeWaitingRequest Wish => For == WaitingFor.AnyLesson ? new(For.Value, With, From, To, Kind) : new(For!.Value, With);

    protected async Task LoadChoicesAsync(CancellationToken cancel, LessonKind? present = null, PupilCard? pupil = null)
    {
        Teachers = [.. (await Instructors.ListAsync(alsoRetired: false, cancel)).Where(i => pupil is null || i.Id == With || i.Teaches(pupil)).Select(i => new SelectListItem(i.Choice, i.Id.ToString()))];
        Rules = await pictures.RulesAsync(cancel);
        LessonKinds = KindWords.Choices(Rules, Viewer, present);
    }
}
