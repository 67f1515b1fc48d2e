using School.Core.Pupils;
using School.Core.Travel;

namespace School.Core.Diary;

/// <summary>Finds booked lessons that a later change has made impossible.</summary>
public static class DiaryAudit
{
    /// <summary>The lessons of one diary that are still to start and now break a rule, each with the first rule broken,
    /// in order of time.</summary>
    /// <param name="picture">Rules, zone, now, cars and car use; its instructors are not read.</param>
    /// <param name="diary">The diary to go through.</param>
    /// <param name="travel">Travel times.</param>
    /// <param name="pupils">The pupils, where known: age, licence, gearbox, dual controls, other lessons and weekly limit are checked for them.</param>
    public static IReadOnlyList<ImpossibleLesson> Find(
        DiaryPicture picture, InstructorDiary diary, ITravelTimes travel, IReadOnlyDictionary<Guid, PupilFacts>? pupils = null) =>
        throw new NotImplementedException();
}

/// <summary>A booked lesson that cannot take place as booked.</summary>
/// <param name="LessonId">The lesson.</param>
/// <param name="Refusal">The rule it breaks, and what to do about it.</param>
public sealed record ImpossibleLesson(Guid LessonId, SlotRefusal Refusal);
