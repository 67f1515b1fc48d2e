using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Pupils;
using School.Core.Travel;

namespace School.Core.Diary.Order;

/// <summary>Looks for an order of one instructor's day with less driving.</summary>
/// <remarks>
/// The order comes from <see cref="OrderProgram"/> on drives that are the same all day, once as they are in the middle of the day and
/// once as they are at their slowest; and once more with room for a rest beside every drive, since the program knows no rests. What it
/// finds is put on the clock with the drives of each hour: no lesson before its old time, near the old times, or as early as can be. It is a
/// proposal only if the day then truly drives less and <see cref="DiaryAudit"/> has nothing to say that it did not say before.
/// </remarks>
public static class BetterOrder
{
    /// <summary>The best day found, if any drives less than the day as it stands.</summary>
    /// <param name="picture">Rules, zone, now, cars and car use.</param>
    /// <param name="diary">The instructor's diary; the cars of the lessons stay as they are.</param>
    /// <param name="date">The date. What has begun stays, and the order is sought from there.</param>
    /// <param name="travel">Travel times.</param>
    /// <param name="pupils">The pupils of the lessons.</param>
    /// <param name="movable">By lesson that may move, the moments in which its pupil can come; in order, not overlapping. It
    /// may also stay as it is. All other lessons and entries stay.</param>
    /// <param name="limits">Where the search gives up; what it found by then is the answer.</param>
    public static FoundOrder Find(
        DiaryPicture picture, InstructorDiary diary, LocalDate date, ITravelTimes travel,
        IReadOnlyDictionary<Guid, PupilFacts> pupils, IReadOnlyDictionary<Guid, IReadOnlyList<Interval>> movable, OrderLimits? limits = null)
    {
        ArgumentNullException.ThrowIfNull(picture);
        ArgumentNullException.ThrowIfNull(diary);
        var day = new OrderGround(picture, diary, date, travel, pupils, movable);
        if (day.Ahead.Count is < 2 or > OrderProgram.MostStops)
        {
            return new(null, day.Ahead.Count < 2);
        }

        var before = DayRoute.Build(picture.Rules, picture.Zone, diary, date, travel);
        var troubles = Troubles(picture, diary, travel, pupils);
        var better = day.Orders(limits).SelectMany(day.Timings)
            .Select(starts => Judge(picture, diary, date, travel, pupils, before, troubles, day.Moves(starts)))
            .OfType<BetterDay>()
            .OrderBy(better => better.After.DrivingMinutes).ThenBy(better => better.Moves.Count).ThenBy(better => better.MovedMinutes)
            .FirstOrDefault();
        return new(better, day.IsProved);
    }

    private static BetterDay? Judge(
        DiaryPicture picture, InstructorDiary diary, LocalDate date, ITravelTimes travel, IReadOnlyDictionary<Guid, PupilFacts> pupils,
        DayRoute before, HashSet<Guid> troubles, IReadOnlyList<LessonMove> moves)
    {
        var to = moves.ToDictionary(move => move.Entry.Id, move => move.To);
        var moved = diary with { Entries = [.. diary.Entries.Select(entry => to.TryGetValue(entry.Id, out var at) ? entry with { During = at } : entry)] };
        var after = DayRoute.Build(picture.Rules, picture.Zone, moved, date, travel);
        if (moves.Count == 0 || after.DrivingMinutes >= before.DrivingMinutes)
        {
            return null;
        }

        var cars = picture with { CarBusy = [.. picture.CarBusy.Select(busy => to.TryGetValue(busy.LessonId, out var at) ? busy with { During = at } : busy)] };
        var facts = pupils.ToDictionary(pupil => pupil.Key, pupil => pupil.Value with
        {
            Lessons = [.. pupil.Value.Lessons.Select(lesson => to.TryGetValue(lesson.Id, out var at) ? lesson with { During = at } : lesson)],
        });
        var wrong = Troubles(cars, moved, travel, facts);
        return wrong.IsSubsetOf(troubles) && !moves.Any(move => wrong.Contains(move.Entry.Id)) ? new(moves, before, after) : null;
    }

    private static HashSet<Guid> Troubles(
        DiaryPicture picture, InstructorDiary diary, ITravelTimes travel, IReadOnlyDictionary<Guid, PupilFacts> pupils) =>
        [.. DiaryAudit.Find(picture, diary, travel, pupils).Select(told => told.LessonId)];
}

/// <summary>What the search for a better order came to.</summary>
/// <param name="Better">The best day found; null when none drives less.</param>
/// <param name="IsProved">Whether every order was looked at. False when there were too many, or the search was given up: another may drive less still.</param>
public sealed record FoundOrder(BetterDay? Better, bool IsProved);

/// <summary>A day with less driving.</summary>
/// <param name="Moves">The lessons that change their time, in order of the new time; at least one.</param>
/// <param name="Before">The day as it stands.</param>
/// <param name="After">The day with the moves; it drives less.</param>
public sealed record BetterDay(IReadOnlyList<LessonMove> Moves, DayRoute Before, DayRoute After)
{
    /// <summary>By how many minutes all lessons together move.</summary>
    public int MovedMinutes => Moves.Sum(move => Math.Abs((move.To.Start - move.Entry.During.Start).WholeMinutes()));
}

/// <summary>A lesson that changes its time.</summary>
/// <param name="Entry">The lesson as it stands.</param>
/// <param name="To">Its new time, of the same length.</param>
public sealed record LessonMove(DiaryEntry Entry, Interval To);
