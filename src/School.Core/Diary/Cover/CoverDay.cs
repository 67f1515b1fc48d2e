using System.Numerics;
using NodaTime;
using School.Core.Diary.Slots;

namespace School.Core.Diary.Cover;

/// <summary>What a date comes to.</summary>
internal sealed record CoverSolution(long Cost, long Bound, IReadOnlyList<(Guid LessonId, CoverPlace Place)> Places);

/// <summary>The cover of one date: one set of lessons for each instructor, no lesson twice, at the least cost.</summary>
/// <remarks>
/// A set-packing problem over columns, one column for each instructor and set of lessons. With at most a dozen lessons the sets are bit
/// masks, and one pass over the instructors solves it exactly (the subset dynamic program of Held and Karp 1962 and Bellman 1962, from
/// memory). It is solved in rounds: lessons at their own time only, at most one moved for each instructor, then any. A round ends it when
/// what the next would add could only move more lessons; the cost of each round cuts the next short.
/// Two lessons of one pupil must not overlap in two cars: where they do, the start of one is fixed in turn (branch and bound).
/// </remarks>
internal sealed class CoverDay
{
    public const int Rounds = 3;

    private static readonly int[] MostMoved = [0, 1, CoverSearch.MostLessonsADay];

    private readonly CoverLesson[] lessons;
    private readonly List<CoverColumns> colleagues;
    private readonly CoverSteps steps;

    public CoverDay(DiaryPicture picture, LocalDate date, CoverLesson[] lessons, Legs legs, CoverSteps steps)
    {
        this.lessons = lessons;
        this.steps = steps;
        colleagues = [.. picture.Instructors.Select(diary => new CoverColumns(picture, diary, date, lessons, legs))];
    }

    public CoverSolution Solve()
    {
        var everywhere = new Func<int, Instant, bool>((_, _) => true);
        var bound = Bound(everywhere).Sum();
        var best = Solve(everywhere, (long.MaxValue, []), out var proven);
        var places = best.Taken.SelectMany(taken => taken.Colleague.Places(taken.Column)).ToList();
        return new(best.Cost, proven ? best.Cost : bound, places);
    }

    private (long Cost, List<Taken> Taken) Solve(
        Func<int, Instant, bool> allowed, (long Cost, List<Taken> Taken) best, out bool proven)
    {
        var bounds = Bound(allowed);
        var relaxed = Relaxed(allowed, bounds, best.Cost, out proven);
        if (relaxed.Cost >= best.Cost)
        {
            return best;
        }

        if (Clash(relaxed.Taken) is not { } clash)
        {
            return relaxed;
        }

        // One of the two starts at some moment or is not taught: each choice leaves the other what does not overlap.
        var (one, other) = clash;
        foreach (var start in colleagues.SelectMany(colleague => colleague.Starts(one)).Distinct().Order().Cast<Instant?>().Append(null))
        {
            if (start is { } at && !allowed(one, at))
            {
                continue;
            }

            best = Solve(
                (lesson, moment) => allowed(lesson, moment) && (lesson == one ? moment == start : lesson != other || start is null
                    || moment >= start + lessons[one].During.Duration || moment + lessons[other].During.Duration <= start),
                best,
                out var here);
            proven &= here;
        }
        return best;
    }

    /// <summary>What each lesson costs at least, driving aside.</summary>
    private long[] Bound(Func<int, Instant, bool> allowed)
    {
        var least = new long[lessons.Length];
        Array.Fill(least, CoverUnits.Uncovered);
        foreach (var colleague in colleagues)
        {
            foreach (var stop in colleague.Options)
            {
                if (stop.Price < least[stop.Lesson] && allowed(stop.Lesson, stop.Start))
                {
                    least[stop.Lesson] = stop.Price;
                }
            }
        }
        return least;
    }

    private (long Cost, List<Taken> Taken) Relaxed(Func<int, Instant, bool> allowed, long[] bounds, long upper, out bool proven)
    {
        var best = (Cost: lessons.Length * CoverUnits.Uncovered, Taken: new List<Taken>());
        var sure = CoverUnits.Read(bounds.Sum()).Uncovered;
        proven = true;
        foreach (var mostMoved in MostMoved)
        {
            var limit = CoverUnits.WithoutDriving(Math.Min(best.Cost, upper));
            var columns = new List<List<CoverColumn>>();
            foreach (var colleague in colleagues)
            {
                columns.Add(colleague.Columns(allowed, bounds, mostMoved, limit, steps, out var complete));
                proven &= complete;
                steps.Done();
            }
            if (Pack(columns) is var packed && packed.Cost < best.Cost)
            {
                best = packed;
            }
            // What other rounds would add moves more lessons than this, and covers no more.
            var cost = CoverUnits.Read(best.Cost);
            if (!proven || (cost.Uncovered == sure && cost.Moved <= mostMoved))
            {
                break;
            }
        }
        return best;
    }

    private (long Cost, List<Taken> Taken) Pack(List<List<CoverColumn>> columns)
    {
        var sets = 1 << lessons.Length;
        var cost = new long[sets];
        Array.Fill(cost, long.MaxValue);
        cost[0] = 0;
        var chosen = new int[columns.Count][];
        var reached = new List<int> { 0 };
        for (var colleague = 0; colleague < columns.Count; colleague++)
        {
            var before = (long[])cost.Clone();
            var choice = chosen[colleague] = new int[sets];
            foreach (var set in reached.ToArray())
            {
                for (var index = 0; index < columns[colleague].Count; index++)
                {
                    var column = columns[colleague][index];
                    if ((set & column.Set) != 0)
                    {
                        continue;
                    }

                    var (union, sum) = (set | column.Set, before[set] + column.Cost);
                    if (sum >= cost[union])
                    {
                        continue;
                    }

                    if (cost[union] == long.MaxValue)
                    {
                        reached.Add(union);
                    }

                    cost[union] = sum;
                    choice[union] = index + 1;
                }
            }
        }
        long Total(int set) => cost[set] + (lessons.Length - BitOperations.PopCount((uint)set)) * CoverUnits.Uncovered;
        var last = reached.MinBy(Total);
        var taken = new List<Taken>();
        for (var (colleague, set) = (columns.Count - 1, last); colleague >= 0; colleague--)
        {
            if (chosen[colleague][set] is 0)
            {
                continue;
            }

            var column = columns[colleague][chosen[colleague][set] - 1];
            taken.Add(new(colleagues[colleague], column));
            set &= ~column.Set;
        }
        return (Total(last), taken);
    }

    /// <summary>Two lessons of one pupil at the same time.</summary>
    private (int One, int Other)? Clash(List<Taken> taken)
    {
        var placed = taken.SelectMany(t => t.Column.Stops).ToList();
        foreach (var one in placed)
        {
            foreach (var other in placed)
            {
                if (one.Lesson < other.Lesson && lessons[one.Lesson].Pupil.Id == lessons[other.Lesson].Pupil.Id
                    && one.Start < other.End && other.Start < one.End)
                {
                    return (one.Lesson, other.Lesson);
                }
            }
        }
        return null;
    }

    private sealed record Taken(CoverColumns Colleague, CoverColumn Column);
}
