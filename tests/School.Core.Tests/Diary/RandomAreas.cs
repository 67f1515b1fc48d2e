using School.Core.Diary;
using School.Core.Diary.Cover;
using School.Core.Diary.Slots;

namespace School.Core.Tests.Diary;

/// <summary>Areas for invented diaries: who serves which, where a lesson begins, and whether the school books nobody elsewhere.</summary>
internal static class RandomAreas
{
    private static readonly Guid[] Areas = [.. Enumerable.Range(1, 3).Select(n => new Guid(n, 0, 0, new byte[8]))];

    // A sequence of its own, so that the diaries of a seed stay what they were.
    private const int Own = 77_001;

    public static (DiaryPicture Picture, LessonWish Wish) With(this (DiaryPicture Picture, LessonWish Wish) diary, int seed)
    {
        var random = new Random(seed + Own);
        return (Served(diary.Picture, random), diary.Wish with { PickUpAreaId = Area(random) });
    }

    public static CoverProblem With(this CoverProblem problem, int seed)
    {
        var random = new Random(seed + Own);
        return new(Served(problem.Picture, random), [.. problem.Lessons.Select(lesson => lesson with { PickUpAreaId = Area(random) })]);
    }

    /// <summary>Judged from the rule alone: who names no area goes everywhere, and to a place in no area goes everybody.</summary>
    public static bool Serves(InstructorFacts who, Guid? area) => area is null || who.Serves is [] || who.Serves.Any(one => one == area);

    private static DiaryPicture Served(DiaryPicture picture, Random random) => picture with
    {
        Rules = picture.Rules with { OnlyInServedAreas = random.Next(3) == 0 },
        Instructors = [.. picture.Instructors.Select(diary => diary with
        {
            Instructor = diary.Instructor with { Serves = random.Next(3) == 0 ? [] : [.. Areas.Where(_ => random.Next(2) == 0)] },
        })],
    };

    private static Guid? Area(Random random) => random.Next(4) is var n && n < Areas.Length ? Areas[n] : null;
}
