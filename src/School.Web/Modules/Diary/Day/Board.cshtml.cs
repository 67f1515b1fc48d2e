using Microsoft.AspNetCore.Mvc;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Time;

namespace School.Web.Modules.Diary.Day;

/// <summary>One date of all instructors side by side, or as a list by time.</summary>
[Needs(Permission.SeeWholeDiary)]
internal sealed class BoardModel(LivePages live, DayReader reader, FindShown shown, SchoolInfo school, IClock clock) : FilteredDays
{
    [BindProperty(SupportsGet = true)]
    public LocalDate? Date { get; set; }

    /// <summary>"list" for the list.</summary>
    [BindProperty(SupportsGet = true)]
    public string? View { get; set; }

    public LocalDate Shown { get; private set; }

    public IReadOnlyList<DaySheet> Days { get; private set; } = [];

    /// <summary>The lanes of all who teach; null where nobody does.</summary>
    public TimeDrawing? Drawing { get; private set; }

    public DatePager Pager { get; private set; } = null!;

    public IReadOnlyList<TimeRange> Ranges { get; private set; } = [];

    public ShownFilter Only { get; private set; } = null!;

    /// <summary>The same day as a list, or as a picture again.</summary>
    public string Other { get; private set; } = "";

    public LivePage Live { get; private set; } = null!;

    public bool AsList => View == "list";

    public string Summary
    {
        get
        {
            var lessons = Days.SelectMany(day => day.Lessons).ToList();
            var said = new List<string> { Words.Count(lessons.Count, "lesson"), ScreenWords.Length(Days.Sum(day => day.BookedMinutes)) };
            Add(lessons.Count(l => l.State is LessonState.Taught), "taught");
            Add(lessons.Count(l => l.State is LessonState.Missed), "missed");
            Add(lessons.Count(l => l.State is LessonState.Booked && l.EndsAt <= clock.GetCurrentInstant()), "not recorded yet");
            return string.Join(", ", said) + ".";

            void Add(int count, string word)
            {
                if (count > 0)
                {
                    said.Add($"{count} {word}");
                }
            }
        }
    }

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var today = facts.Today(clock);
        var asked = Asked;
        Shown = ModelState.ReadDate(Date, today);
        Live = live.Of("the board", facts.Zone, Shown, Shown);
        var found = await shown.ReadAsync(asked, Choosing, Shown, Shown, cancel);
        Days = await reader.EverybodyAsync(Shown, found.Ids, cancel);
        Drawing = Days.Count == 0 ? null : BoardView.Draw(
            "The day of each instructor", "Instructor", Days, day => day.Instructor.Name, day => $"/diary/day?date={Shown:uuuu-MM-dd}&instructorId={day.Instructor.Id}", withCars: true);
        string Address(LocalDate date, bool list, string kept) => $"/diary/board?date={date:uuuu-MM-dd}{(list ? "&view=list" : "")}{kept}";
        (string, string)[] list = AsList ? [("view", "list")] : [];
        Other = Address(Shown, !AsList, asked.Query);
        Pager = new("/diary/board", Shown, "Day", Shown == today ? null : today, date => new(Address(date, AsList, asked.Query), ScreenWords.ShortDay(date)), DiaryRanges.Day, [.. list, .. asked.Kept]);
        Ranges = DiaryRanges.OfSchool(DiaryRanges.Day, Shown, today, asked.Query);
        Only = new(found, "/diary/board", Address(Shown, AsList, ""), Address(Shown, AsList, asked.Query) + "&filter=open", [("date", Shown.ToString("uuuu-MM-dd", null)), .. list], Days.Count);
    }
}
