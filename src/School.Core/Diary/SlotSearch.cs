using NodaTime;
using School.Core.Travel;

namespace School.Core.Diary;

/// <summary>Finds the lesson times that are really possible.</summary>
public static class SlotSearch
{
    /// <summary>The best starts for a wish among all instructors of the picture.</summary>
    public static SlotSearchResult Find(DiaryPicture picture, LessonWish wish, ITravelTimes travel, int most) =>
        throw new NotImplementedException();

    /// <summary>Whether one start with one instructor is possible.</summary>
    /// <exception cref="ArgumentException">The instructor is not in the picture.</exception>
    public static SlotVerdict Check(DiaryPicture picture, LessonWish wish, Guid instructorId, Instant start, ITravelTimes travel) =>
        throw new NotImplementedException();
}
