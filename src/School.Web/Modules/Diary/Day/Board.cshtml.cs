using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Day;

/// <summary>One date of all instructors side by side, or as a list by time.</summary>
[Needs(Permission.SeeWholeDiary)]
internal sealed class BoardModel(DayReader reader, SchoolInfo school, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public LocalDate? Date { get; set; }

    /// <summary>"list" for the list.</summary>
    [BindProperty(SupportsGet = true)]
    public string? View { get; set; }

    public LocalDate Shown { get; private set; }

    public IReadOnlyList<DaySheet> Days { get; private set; } = [];

    public IReadOnlyList<BoardLane> Lanes { get; private set; } = [];

    public Pager Pager { get; private set; } = null!;

    public bool AsList => View == "list";

    /// <summary>The list: every lesson of the date by start, then instructor.</summary>
    public IEnumerable<(DaySheet Day, Lesson Lesson)> Lessons =>
        Days.SelectMany(day => day.Lessons.Select(lesson => (day, lesson))).OrderBy(x => x.lesson.StartsAt).ThenBy(x => x.day.Instructor.Name);

    public IEnumerable<(DaySheet Day, TestDays.TestDay Test)> Tests =>
        Days.SelectMany(day => day.Tests.Select(test => (day, test))).OrderBy(x => x.test.BlockedFrom).ThenBy(x => x.day.Instructor.Name);

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
        var today = (await school.GetAsync(cancel)).Today(clock);
        Shown = ModelState.ReadDate(Date, today);
        Days = await reader.EverybodyAsync(Shown, cancel);
        Lanes = [.. Days.Select(day => BoardView.Lane(day, day.Instructor.Name, $"/diary/day?date={Shown:uuuu-MM-dd}&instructorId={day.Instructor.Id}"))];
        var list = AsList ? "&view=list" : "";
        Pager = ScreenTimes.Days(Shown, today, date => $"/diary/board?date={date:uuuu-MM-dd}{list}");
    }
}
