using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Another search that would find something, told before anybody tries it.</summary>
/// <param name="Words">What is different, for a button: "1½ hours".</param>
/// <param name="Found">What it finds, for a button: "from Thursday 3 December, 10:00".</param>
/// <param name="Sentence">Both in a sentence.</param>
/// <param name="Start">The first time that fits.</param>
/// <param name="Question">The search, from the day of that time on.</param>
internal sealed record WayOut(string Words, string Found, string Sentence, Instant Start, SlotQuestion Question);

/// <summary>What would help when a search finds nothing: another instructor, another length, a later date.</summary>
internal sealed class WaysOut(SlotFinder slots, SchoolInfo school, IClock clock)
{
    private const int StaffHorizonDays = 365;

    /// <summary>The last date on which a viewer may look for times.</summary>
    public static LocalDate LastDate(Viewer viewer, DiaryRules rules, LocalDate today) =>
        today.PlusDays(viewer.IsStaff ? StaffHorizonDays : rules.HorizonDays);

    /// <summary>Nothing unless the answer is empty.</summary>
    public async Task<IReadOnlyList<WayOut>> OfAsync(SlotQuestion question, SlotAnswer answer, Viewer viewer, CancellationToken cancel)
    {
        var ways = new List<WayOut>();
        if (answer.Found > 0)
        {
            return ways;
        }

        var facts = await school.GetAsync(cancel);
        var rules = answer.Loaded.Picture.Rules;
        var minutes = question.Minutes ?? rules.KindOf(question.Kind).Usual(answer.Pupil.LessonMinutes);
        question = question with { Minutes = minutes };
        var mayChange = question.InstructorId is not null && viewer.InstructorId is null;
        if (mayChange)
        {
            await TryAsync("Any instructor", question with { InstructorId = null }, when => $"With another instructor: {when}.");
        }

        foreach (var other in rules.LengthsOf(question.Kind).Where(m => m != minutes && question.MovingLessonId is null).Order())
        {
            await TryAsync(ScreenWords.Length(other), question with { Minutes = other }, when => $"A lesson of {ScreenWords.Length(other)} would fit on {when}.");
        }

        var last = LastDate(viewer, rules, facts.Today(clock));
        if (question.To < last)
        {
            var later = question with { From = question.To.PlusDays(1), To = LocalDate.Min(question.To.PlusDays(SlotFinder.LongestRangeDays), last) };
            await TryAsync("Later", later, when => $"The next time that fits is {when}.");
            if (mayChange && ways.Count == 0)
            {
                await TryAsync("Later, any instructor", later with { InstructorId = null }, when => $"The next time that fits, with another instructor, is {when}.");
            }
        }

        return ways;

        async Task TryAsync(string words, SlotQuestion other, Func<string, string> sentence)
        {
            // Only whether and when: no offers, so the search costs next to nothing.
            var found = await slots.FindAsync(other with { Most = 0 }, viewer, cancel);
            if (found.Ok && found.Value.Earliest is { } start)
            {
                var when = facts.Moment(start);
                ways.Add(new(words, $"from {when}", sentence(when), start, other with { From = start.InZone(facts.Zone).Date }));
            }
        }
    }
}
