using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Courses;

/// <summary>A course as it is planned: its days as a picture and a table, booked or dropped from here.</summary>
[Needs(Permission.PlanCourses)]
internal sealed class DetailsModel(
    ProposalReader reader, ApplyProposal apply, DropProposal drop, BookLesson book, InstructorBook instructors, PupilBook pupils, OwnPupils own, SchoolInfo school, Viewer viewer,
    IClock clock) : PageModel
{
    private IReadOnlyList<Guid>? ticked;

    /// <summary>The form with all that was asked for.</summary>
    public string AskAgain => IndexModel.AddressOf(Ask);

    public Guid Id { get; private set; }

    public int Version { get; private set; }

    public ProposalState State { get; private set; }

    public CourseRequest Ask { get; private set; } = null!;

    public string Pupil { get; private set; } = "";

    public string Instructor { get; private set; } = "";

    public string Gearbox { get; private set; } = "";

    public string Size { get; private set; } = "";

    /// <summary>How much of it was booked.</summary>
    public string Booked { get; private set; } = "";

    /// <summary>Who is told of it.</summary>
    public string Letters { get; private set; } = "";

    /// <summary>Where each lesson is to begin; null once it is booked or dropped.</summary>
    public string? PickUp { get; private set; }

    public string? DropOff { get; private set; }

    public CoursePicture Picture { get; private set; } = null!;

    public IReadOnlyList<CourseRow> Rows { get; private set; } = [];

    public IReadOnlyList<CourseNote> Notes { get; private set; } = [];

    public IReadOnlyList<CourseHoliday> LeftOut { get; private set; } = [];

    public bool Open => State is ProposalState.Proposed or ProposalState.Stale;

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel) => await ShowAsync(id, cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostApplyAsync(Guid id, List<Guid> take, int? seen, CancellationToken cancel)
    {
        if (await reader.FindAsync(viewer, id, cancel, ProposalKind.Course) is not { } plan)
        {
            return NotFound();
        }

        take = [.. take.Distinct()];
        if (take.Count == 0)
        {
            ticked = take;
            ModelState.AddModelError("", "Tick at least one day.");
            return await ShowAsync(id, cancel) ? Page() : NotFound();
        }

        var applied = await apply.RunAsync(viewer, id, new(take), seen, cancel);
        if (applied.Ok || await AreBookedAsync(id, take, cancel))
        {
            var pupilId = CourseRules.AskOf(plan).PupilId;
            var pupil = (await pupils.CardsAsync([pupilId], cancel))[pupilId];
            TempData["Done"] = $"{Words.Count(take.Count, "lesson")} booked. {Words.OnTheWay("The details are", pupil)}";
            return Redirect($"/diary/courses/{id}");
        }

        ticked = applied.Refusal.Code == ApplyProposal.Stale.Code ? null : take;
        ModelState.AddModelError("", applied.Refusal.For(viewer));
        return await ShowAsync(id, cancel) ? Page() : NotFound();
    }

    public async Task<IActionResult> OnPostStopAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(viewer, id, cancel, ProposalKind.Course) is not { } plan)
        {
            return NotFound();
        }

        var stopped = await drop.RunAsync(viewer, id, cancel);
        if (stopped.Ok)
        {
            TempData["Done"] = "Dropped. Nothing was booked.";
            return Redirect($"/diary/courses?pupil={CourseRules.AskOf(plan).PupilId}");
        }

        ModelState.AddModelError("", stopped.Refusal.For(viewer));
        return await ShowAsync(id, cancel) ? Page() : NotFound();
    }

    /// <summary>Pressed twice: whether the other press has booked just these.</summary>
    private async Task<bool> AreBookedAsync(Guid id, IReadOnlyList<Guid> take, CancellationToken cancel) =>
        await reader.FindAsync(viewer, id, cancel, ProposalKind.Course) is { State: ProposalState.Applied } plan
        && plan.LinesOf().Select(line => line.Id).ToHashSet().SetEquals(take);

    private async Task<bool> ShowAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(viewer, id, cancel, ProposalKind.Course) is not { } plan)
        {
            return false;
        }

        var (facts, more) = (await school.GetAsync(cancel), CourseRules.MoreOf(plan));
        (Id, Version, State, Ask) = (id, plan.Version, await reader.StateAsync(plan, cancel), CourseRules.AskOf(plan));
        var pupil = (await own.VeilAsync(viewer, await pupils.CardsAsync([Ask.PupilId], cancel), cancel))[Ask.PupilId];
        var starts = plan.LinesOf().ToDictionary(line => line.Id, line => line.Start!.Value);
        // Of one that was booked in part only that part is left among the lines.
        var days = more.Days.Where(day => starts.ContainsKey(day.Id)).ToList();
        (Pupil, Gearbox, Size) = (pupil.Name, CourseWords.Of(pupil.Gearbox), CourseWords.Size(days));
        Booked = days.Count == more.Days.Count ? "This was booked." : $"Of {Words.Count(more.Days.Count, "day")} that were planned, {Words.Count(days.Count, "day")} {(days.Count == 1 ? "was" : "were")} booked.";
        Letters = pupil.HasEmail ? "Pupil and instructor get one letter about all of them." : $"The instructor gets one letter about all of them. {Words.OnTheWay("", pupil)}";
        Instructor = (await instructors.NamesAsync(cancel))[Ask.InstructorId];
        (Notes, LeftOut) = (more.Notes, more.LeftOut);
        Picture = CoursePicture.Of([.. days.Select(day => (starts[day.Id], day))], facts);
        Rows = [.. days.Select(day => Row(day, starts[day.Id], facts))];
        if (Open && await book.ReadAsync(Ask.ToLesson(clock.GetCurrentInstant().MinuteOf()), viewer, cancel) is { Ok: true, Value: var asked })
        {
            (PickUp, DropOff) = (Words.Where(Words.Shown(asked.PickUp, pupil)), asked.DropOff == asked.PickUp ? "at the pick-up" : Words.Where(Words.Shown(asked.DropOff, pupil)));
        }

        return true;
    }

    private CourseRow Row(CourseDay day, Instant start, SchoolFacts facts) => new(
        day.Id, ScreenWords.Day(day.Date), $"{facts.Time(start)} to {facts.Time(day.End)}", ScreenWords.Length(day.Minutes),
        day.Breaks.Count == 0 ? "none" : facts.Rests(day.Breaks.Select(rest => rest.During(start))), day.ExtraDrivingMinutes is { } driving ? ScreenWords.Length(driving) : "not told: place to be found",
        ticked?.Contains(day.Id) ?? true);
}

/// <summary>A lesson of a course as the table shows it.</summary>
internal sealed record CourseRow(Guid Id, string Day, string Times, string Teaching, string Breaks, string Driving, bool Taken);
