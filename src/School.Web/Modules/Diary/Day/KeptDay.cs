using NodaTime;
using NodaTime.Text;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Day;

/// <summary>The pages of a day that an instructor needs where there is no signal.</summary>
internal sealed record KeptDay(string Words, string Address, (string Words, string Address)? Tomorrow, IReadOnlyList<KeptLesson> Lessons)
{
    public static KeptDay Of(DaySheet day, string query)
    {
        string Address(LocalDate date) => $"/diary/day?date={LocalDatePattern.Iso.Format(date)}{query}";
        var next = day.Date.PlusDays(1);
        return new(
            ScreenWords.Day(day.Date), Address(day.Date), day.Date == day.Context.Today ? (ScreenWords.Day(next), Address(next)) : null,
            [.. day.Lessons.Select(lesson => new KeptLesson(
                $"{day.Context.School.Time(lesson.StartsAt)} {day.Context.Pupils[lesson.PupilId].Name}", LessonLinks.Of(lesson.Id), LessonPages.Brief(lesson.Id), LessonPages.Record(lesson.Id), LessonPages.Next(lesson.Id)))]);
    }
}

/// <summary>"10:15 Idris Bell".</summary>
internal sealed record KeptLesson(string Words, string Page, string Brief, string Record, string Next);
