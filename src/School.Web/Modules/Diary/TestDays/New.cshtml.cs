using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Enters the day of a test: a pupil their own, staff those of pupils.</summary>
[Needs(Permission.BookLessons)]
[OfPupil("pupil", Sight.Everything, Diary = true)]
internal sealed class NewModel(EnterTestDay enter, TestDayForms forms, PupilBook pupils, Viewer viewer) : PageModel
{
    /// <summary>Whose test, where a page about the pupil led here.</summary>
    [BindProperty(SupportsGet = true)]
    public Guid? Pupil { get; set; }

    [BindProperty]
    public TestDayInput Input { get; set; } = new();

    public TestDayChoices Choices { get; private set; } = null!;

    public bool Staff => viewer.IsStaff;

    public bool Office => viewer.KeepsDiary;

    /// <summary>Whether the numbers and the result disagreed and must be confirmed.</summary>
    public bool AskAgainstRule { get; private set; }

    public async Task OnGetAsync(CancellationToken cancel)
    {
        Choices = await forms.ReadAsync(viewer, cancel);
        Input.PupilId = viewer.PupilId ?? Pupil;
        Input.InstructorId = viewer.InstructorId;
        Input.Nation = Choices.School.Nation;
        Input.SameCentreAs = Choices.KnownCentres.Count == 1 ? Choices.KnownCentres[0].Id : null;
        if (Input.PupilId is { } id && await pupils.FindAsync(id, viewer, cancel) is { } pupil)
        {
            Input.Gearbox = pupil.Missing.HasFlag(FirstLessonNeeds.Gearbox) ? null : pupil.Gearbox;
            Input.InstructorId ??= viewer.KeepsDiary ? pupil.UsualInstructorId : null;
        }
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        Choices = await forms.ReadAsync(viewer, cancel);
        if ((viewer.PupilId ?? Input.PupilId) is not { } pupilId)
        {
            ModelState.AddModelError("Input.PupilId", "Choose a pupil.");
            return Page();
        }

        if (Input.Taken && Input.Result.Missing().ToRefusal() is { } missing)
        {
            this.AddRefusal(missing, $"{nameof(Input)}.{nameof(Input.Result)}");
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var read = Input.Read(pupilId, Choices.School, Choices.KnownCentres);
        var outcome = read.Ok ? await enter.RunAsync(viewer, read.Value, cancel) : read.Refusal;
        if (outcome.Ok)
        {
            TempData["Done"] = outcome.Value.HasResult
                ? "The test is kept with its result."
                : $"The test day is kept: {Choices.School.Moment(outcome.Value.StartsAt)}.";
            return LocalRedirect(TestDayWords.Address(outcome.Value.Id));
        }

        AskAgainstRule = outcome.Refusal.Code == "result_against_rule";
        this.AddRefusal(TestDayInput.ToForm(outcome.Refusal), outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        return Page();
    }
}
