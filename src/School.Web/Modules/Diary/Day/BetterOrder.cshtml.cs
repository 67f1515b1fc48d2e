using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Diary.Order;
using School.Core.Diary.Slots;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Day;

/// <summary>A route as a table: the lessons with the drive to each.</summary>
internal sealed record ShownOrder(string Totals, IReadOnlyList<ShownStop> Stops);

internal sealed record ShownStop(string Pupil, string Times, string Drive, bool Moved);

/// <summary>A day beside the order of its lessons that drives least, to be applied at once.</summary>
[Needs(Permission.DriveTheDay)]
internal sealed class BetterOrderModel(DayReader reader, FindOrder find, OrderDay order, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    // No answer has this version.
    private const int NotSeen = -1;

    private InstructorCard instructor = null!;

    [BindProperty(SupportsGet = true)]
    public Guid? InstructorId { get; set; }

    [BindProperty(SupportsGet = true, Name = "date")]
    public LocalDate? Asking { get; set; }

    [BindProperty(SupportsGet = true)]
    public bool Ask { get; set; }

    [BindProperty]
    public int? Seen { get; set; }

    [BindProperty]
    public bool Asked { get; set; }

    public OrderAnswer? Answer { get; private set; }

    public LocalDate Date { get; private set; }

    public string? Whose { get; private set; }

    public bool MayAsk => viewer.KeepsDiary;

    public string Back => $"/diary/day?date={Date:uuuu-MM-dd}{Query}";

    /// <summary>"12 minutes and 3.4 miles less driving."</summary>
    public string Saving
    {
        get
        {
            var better = Answer!.Better!;
            if (Answer.Told(better.Before).Untold().Drives + Answer.Told(better.After).Untold().Drives > 0)
            {
                return "Less driving in all. How much is not told, since a place is still to be found.";
            }

            var miles = Math.Round(better.Before.Miles - better.After.Miles, 1);
            return $"{Words.Count(better.Before.DrivingMinutes - better.After.DrivingMinutes, "minute")}{(miles > 0 ? $" and {miles:0.#} miles" : "")} less driving.";
        }
    }

    public const string NotProved = "Not proved to be the best: there are too many orders to look at them all, so another may drive less still.";

    public string AskFirst =>
        string.Join(", ", Answer!.Better!.Moves.Where(move => Answer.ToAsk.Contains(move.Entry.Id)).Select(move => Answer.Pupils[move.Entry.Id].Name))
        + ". They did not give these times.";

    public string WhoIsTold =>
        $"Told by e-mail: {string.Join(", ", Answer!.Better!.Moves.Select(move => Answer.Pupils[move.Entry.Id].Name).Distinct())}.";

    public string Why => Answer switch
    {
        { Movable: > 0, Proved: false } => "No order with less driving was found, but there are too many to look at them all: there may be one.",
        { Movable: 0 } => "No pupil of a lesson ahead has said when they can come, so every lesson stays where it is.",
        _ => OrderDay.NothingBetter.Telling.ToStaff,
    };

    private string Query => Whose is null ? "" : $"&instructorId={instructor.Id}";

    public static string Count(int lessons) => Words.Count(lessons, "lesson");

    public string Address(bool ask) => $"/diary/better-order?date={Date:uuuu-MM-dd}{Query}{(ask ? "&ask=true" : "")}";

    public ShownOrder Shown(DayRoute route)
    {
        var moved = Answer!.Better!.Moves.Select(move => (move.Entry.Id, move.To)).ToHashSet();
        var told = Answer.Told(route);
        var untold = told.Untold();
        return new(
            $"{Words.Count(route.DrivingMinutes - untold.Minutes, "minute")} and {route.Miles - untold.Miles:0.#} miles, "
                + (untold.Drives == 0 ? "home included" : $"without {Words.Count(untold.Drives, "drive")} from or to a place that is still to be found"),
            [.. route.Stops.Index().Where(stop => Answer.Pupils.ContainsKey(stop.Item.Entry.Id)).Select(stop => new ShownStop(
                Answer.Pupils[stop.Item.Entry.Id].Name, ScreenTimes.Of(Answer.School, stop.Item.Entry.During),
                told.To(stop.Index) ? ScreenWords.Length(stop.Item.Leg.Minutes) : "not told: place to be found",
                moved.Contains((stop.Item.Entry.Id, stop.Item.Entry.During))))]);
    }

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel) => await LoadAsync(cancel) ?? await ShowAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (await LoadAsync(cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        var applied = await order.RunAsync(viewer, new(new(instructor.Id, Date, Ask), Asked), Seen ?? NotSeen, cancel);
        if (applied.Ok)
        {
            TempData["Done"] = $"{Count(applied.Value.Better!.Moves.Count)} moved. The pupils are told.";
            return LocalRedirect(Back);
        }

        if (applied.Refusal.Code == Lessons.AskFirst.Code)
        {
            ModelState.AddModelError(nameof(Asked), applied.Refusal.For(Viewer.From(User)));
        }
        else
        {
            this.AddRefusal(applied.Refusal);
        }

        return await ShowAsync(cancel);
    }

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        var found = await find.RunAsync(viewer, new(instructor.Id, Date, Ask), cancel);
        if (found.Ok)
        {
            Answer = found.Value;
        }
        else
        {
            ModelState.AddModelError("", found.Refusal.For(Viewer.From(User)));
        }

        return Page();
    }

    private async Task<IActionResult?> LoadAsync(CancellationToken cancel)
    {
        if (InstructorId is null && viewer.InstructorId is null)
        {
            return Redirect("/diary/board");
        }

        if (await reader.WhoseAsync(InstructorId, cancel) is not { } whose)
        {
            return NotFound();
        }

        instructor = whose;
        Whose = viewer.InstructorId == whose.Id ? null : whose.Name;
        Date = ModelState.ReadDate(Asking, (await school.GetAsync(cancel)).Today(clock));
        return null;
    }
}
