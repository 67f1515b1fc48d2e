using Microsoft.AspNetCore.Mvc;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Time;

namespace School.Web.Modules.Diary.Day;

/// <summary>Two weeks from a Monday of all instructors, or one: where each is booked, and how much is free.</summary>
[Needs(Permission.SeeWholeDiary)]
internal sealed class FortnightModel(LivePages live, WeeksReader reader, FindShown shown, SchoolInfo school, IClock clock) : FilteredDays
{
    [BindProperty(SupportsGet = true)]
    public LocalDate? Date { get; set; }

    /// <summary>"list" for the list.</summary>
    [BindProperty(SupportsGet = true)]
    public string? View { get; set; }

    /// <summary>One for a week; anything else is two.</summary>
    [BindProperty(SupportsGet = true)]
    public int? Weeks { get; set; }

    public string Heading { get; private set; } = "";

    /// <summary>Null where nobody teaches.</summary>
    public GridDrawing? Drawing { get; private set; }

    public IReadOnlyList<WeeksDay> Days { get; private set; } = [];

    public DatePager Pager { get; private set; } = null!;

    public IReadOnlyList<TimeRange> Ranges { get; private set; } = [];

    public ShownFilter Only { get; private set; } = null!;

    public LivePage Live { get; private set; } = null!;

    public LocalDate Today { get; private set; }

    public string Other { get; private set; } = "";

    public bool AsList => View == "list";

    public bool OneWeek => Weeks == 1;

    /// <summary>"389 hours free for lessons, 217 of them in the second week."</summary>
    public int FreeMinutes => Days.Sum(day => day.Free);

    public int FreeLater => Days.Skip(DiaryRanges.Week).Sum(day => day.Free);

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        Today = facts.Today(clock);
        var asked = Asked;
        var date = ModelState.ReadDate(Date, Today);
        var monday = date.PlusDays(1 - (int)date.DayOfWeek);
        var length = OneWeek ? DiaryRanges.Week : DiaryRanges.Fortnight;
        var last = monday.PlusDays(length - 1);
        Live = live.Of(OneWeek ? "the week" : "the fortnight", facts.Zone, monday, last);
        var found = await shown.ReadAsync(asked, Choosing, monday, last, cancel);
        var weeks = await reader.ReadAsync(monday, last, found.Ids, cancel);
        var view = new WeeksView(weeks, monday, last, asked.Query, asked.IsAsked ? "All shown" : "The school");
        Days = view.Days;
        Heading = $"{ScreenWords.Day(monday)} to {ScreenWords.Day(last)}";
        Drawing = weeks.Instructors.Count == 0 ? null : view.Draw(OneWeek ? "The school’s week" : "The school’s fortnight");
        (string, string)[] one = OneWeek ? [("weeks", "1")] : [];
        (string, string)[] list = AsList ? [("view", "list")] : [];
        string Address(LocalDate day, bool asList, string kept) => $"/diary/fortnight?date={day:uuuu-MM-dd}{(OneWeek ? "&weeks=1" : "")}{(asList ? "&view=list" : "")}{kept}";
        Other = Address(monday, !AsList, asked.Query);
        var word = OneWeek ? "Week" : "Fortnight";
        Pager = new(
            "/diary/fortnight", monday, word, Today >= monday && Today <= last ? null : Today,
            day => new(Address(day, AsList, asked.Query), day > monday ? $"{word} after" : $"{word} before"), length, [.. one, .. list, .. asked.Kept]);
        Ranges = DiaryRanges.OfSchool(length, monday, Today, asked.Query);
        Only = new(found, "/diary/fortnight", Address(monday, AsList, ""), Address(monday, AsList, asked.Query) + "&filter=open", [("date", monday.ToString("uuuu-MM-dd", null)), .. one, .. list], weeks.Instructors.Count);
    }
}
