using School.Web.Modules.Diary.Covers;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Diary.Day;

/// <summary>Booked lessons that cannot take place.</summary>
internal sealed class ImpossibleLessons(DiaryCheck check, CoverCures cures, SchoolInfo school) : INeedAttention
{
    public const string Kind = "impossible_lesson";

    private static readonly AttentionHeading Heading = new(10, "Lessons that cannot take place as booked", "Look at the lesson");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var found = await check.FindAsync(null, cancel);
        var links = await cures.OfAsync(found, cancel);
        return
        [
            .. from lesson in found
               select new AttentionItem(
                   Kind,
                   Heading,
                   $"{lesson.PupilName} with {lesson.InstructorName}, {facts.Moment(lesson.StartsAt)}: {lesson.Refusal.Telling.ToStaff}",
                   LessonLinks.Of(lesson.LessonId),
                   lesson.StartsAt.InZone(facts.Zone).Date)
               {
                   Cure = links.GetValueOrDefault(lesson.LessonId) is { } cure ? new("Find cover", cure.Href) : null,
                   Cause = links.GetValueOrDefault(lesson.LessonId) is { } cause
                       ? new(cause.Cause, count => $"{cause.Words}: {count} booked lessons cannot take place, the first of them {facts.Moment(found.First(other => links.GetValueOrDefault(other.LessonId)?.Cause == cause.Cause).StartsAt)}.") : null,
               },
        ];
    }
}
