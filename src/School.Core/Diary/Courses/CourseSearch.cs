using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Pupils;
using School.Core.Travel;

namespace School.Core.Diary.Courses;

/// <summary>Spreads a course over the days of one instructor.</summary>
/// <remarks>
/// Every lesson keeps all rules of <see cref="SlotSearch"/> and lies within the times at which the pupil can come; together they keep the
/// pupil's weekly limit. Of all courses of the length asked for the one with the least <see cref="CourseCost"/> is taken; where there is none,
/// of those with most minutes below it.
/// <para>
/// Lessons of different dates touch each other in the weekly limit alone. So each date is searched by itself, each length at its best start,
/// and the dates are put together by a dynamic program over the minutes so far and those of the week
/// (R. Bellman, <em>Dynamic Programming</em>, 1957, from memory): exact, in dates × lengths × minutes × minutes of a week.
/// </para>
/// </remarks>
public static class CourseSearch
{
    /// <summary>The best course with one instructor.</summary>
    /// <param name="picture">The diaries as they stand.</param>
    /// <param name="wish">What is wanted.</param>
    /// <param name="instructorId">With whom.</param>
    /// <param name="travel">Travel times.</param>
    /// <exception cref="ArgumentException">The instructor is not in the picture.</exception>
    public static CoursePlan Plan(DiaryPicture picture, CourseWish wish, Guid instructorId, ITravelTimes travel)
    {
        ArgumentNullException.ThrowIfNull(picture);
        ArgumentNullException.ThrowIfNull(wish);
        var diary = picture.Instructors.FirstOrDefault(diary => diary.Instructor.Id == instructorId)
            ?? throw new ArgumentException("The instructor is not in the picture.", nameof(instructorId));
        var lengths = wish.Lengths(picture.Rules);
        if (lengths.Count == 0 || lengths[0] > wish.Minutes)
        {
            return new([], default, new Dictionary<SlotRule, int> { [SlotRule.LengthNotOffered] = 1 });
        }

        var (inTheWay, ofMore) = (new Dictionary<SlotRule, int>(), new Dictionary<SlotRule, int>());
        var days = Choices(picture, wish, diary, lengths, travel, inTheWay, ofMore);
        var best = Best(wish, days, lengths, picture.Zone);
        return new([.. best?.Lessons ?? []], best?.Cost ?? default, inTheWay) { InTheWayOfMore = ofMore };
    }

    private static List<CourseDay> Choices(
        DiaryPicture picture, CourseWish wish, InstructorDiary diary, IReadOnlyList<int> lengths, ITravelTimes travel, Dictionary<SlotRule, int> inTheWay,
        Dictionary<SlotRule, int> ofMore)
    {
        var ground = new SearchGround(picture.Rules, picture.Zone, travel);
        var dates = Enumerable.Range(0, Math.Max(0, Period.DaysBetween(wish.Lesson.From, wish.Lesson.To) + 1)).Select(wish.Lesson.From.PlusDays)
            .Where(date => !wish.LeftOut.Contains(date)).ToList();
        var workspace = new SlotWorkspace();
        var days = new List<CourseDay>();
        foreach (var prepared in ground.Prepare(picture, diary, dates))
        {
            var day = new CourseDay(prepared.Date, Period.DaysBetween(wish.Lesson.From, prepared.Date), []);
            var times = AvailableTime.On(wish.Available, day.Date, picture.Zone);
            var room = new SlotStart[wish.Available.Count == 0 ? 1 : prepared.MostStarts];
            var left = wish.MostADay - MinutesOn(wish.Lesson.Pupil.Lessons, day.Date, picture.Zone);
            var longest = 0;
            foreach (var minutes in lengths.Where(minutes => minutes <= left))
            {
                var lesson = wish.Lesson with { Minutes = minutes, From = day.Date, To = day.Date };
                PreparedDay[] one = [prepared];
                var tally = workspace.Search(ground, picture.Now, lesson, one, room);
                if (tally.Found == 0 && minutes == lengths[0])
                {
                    Add(workspace.RefusalsByRule(), inTheWay);
                }
                else if (tally.Found == 0 && longest > 0)
                {
                    Add(workspace.RefusalsByRule(), ofMore);
                    longest = 0;
                }
                else if (tally.Found > 0)
                {
                    longest = minutes;
                }

                foreach (var start in room.AsSpan(0, tally.Offered))
                {
                    var offer = start.Offer(lesson, one, picture.Zone);
                    if (wish.Available.Count == 0 || times.Any(time => time.Start <= offer.Start && offer.End <= time.End))
                    {
                        day.Choices.Add(offer);
                        break;
                    }
                }
            }

            days.Add(day);
        }

        return days;
    }

    private static int MinutesOn(IReadOnlyList<PupilLesson> lessons, LocalDate date, DateTimeZone zone) =>
        lessons.Where(lesson => !lesson.IsTest && lesson.During.Start.InZone(zone).Date == date).Sum(lesson => (int)lesson.During.Duration.TotalMinutes - lesson.BreakMinutes);

    private static void Add(IReadOnlyDictionary<SlotRule, int> refusals, Dictionary<SlotRule, int> to)
    {
        foreach (var (rule, starts) in refusals)
        {
            to[rule] = to.GetValueOrDefault(rule) + starts;
        }
    }

    /// <summary>The best of those with most minutes; null where no lesson fits at all.</summary>
    private static Course? Best(CourseWish wish, List<CourseDay> days, IReadOnlyList<int> lengths, DateTimeZone zone)
    {
        var unit = lengths.Aggregate(Divisor);
        var most = wish.Minutes / unit;
        var weekly = wish.Lesson.Pupil.WeeklyMinutes;
        // Without a limit the minutes of the week need not be told apart.
        var width = weekly is null ? 0 : most;
        var sofar = new Course?[most + 1, width + 1];
        sofar[0, 0] = new(null, null, default);
        Stretch? week = null;
        var room = 0;
        foreach (var day in days)
        {
            if (weekly is { } limit && Weeks.Of(day.Date, zone) is var its && its != week)
            {
                (week, room) = (its, Math.Max(0, limit - Weeks.Minutes(wish.Lesson.Pupil.Lessons, its, null)) / unit);
                sofar = NewWeek(sofar, most, width);
            }

            // From the most down, so that no course takes a second lesson of the same date.
            for (var sum = most; sum >= 0; sum--)
            {
                for (var used = width; used >= 0; used--)
                {
                    if (sofar[sum, used] is not { } course)
                    {
                        continue;
                    }

                    foreach (var offer in day.Choices)
                    {
                        var units = offer.Plan.Minutes / unit;
                        var (all, inWeek) = (sum + units, weekly is null ? 0 : used + units);
                        if (all > most || (weekly is not null && inWeek > room))
                        {
                            continue;
                        }

                        var cost = course.Cost.With(offer.Plan.Minutes, offer.ExtraDrivingMinutes, day.Number);
                        if (sofar[all, inWeek] is not { } known || cost < known.Cost)
                        {
                            sofar[all, inWeek] = new(course, new(day.Date, offer), cost);
                        }
                    }
                }
            }
        }

        return BestOfMost(sofar, most, width);
    }

    private static Course?[,] NewWeek(Course?[,] sofar, int most, int width)
    {
        var next = new Course?[most + 1, width + 1];
        for (var sum = 0; sum <= most; sum++)
        {
            next[sum, 0] = BestWith(sofar, sum, width);
        }

        return next;
    }

    private static Course? BestOfMost(Course?[,] sofar, int most, int width)
    {
        for (var sum = most; sum > 0; sum--)
        {
            if (BestWith(sofar, sum, width) is { } best)
            {
                return best;
            }
        }

        return null;
    }

    private static Course? BestWith(Course?[,] sofar, int sum, int width)
    {
        Course? best = null;
        for (var used = 0; used <= width; used++)
        {
            if (sofar[sum, used] is { } course && (best is null || course.Cost < best.Cost))
            {
                best = course;
            }
        }

        return best;
    }

    private static int Divisor(int one, int other) => other == 0 ? one : Divisor(other, one % other);

    /// <summary>A date with the best start of each length that fits on it.</summary>
    private sealed record CourseDay(LocalDate Date, int Number, List<SlotOffer> Choices);

    /// <summary>A course as far as it goes.</summary>
    private sealed record Course(Course? Before, CourseLesson? Last, CourseCost Cost)
    {
        public IEnumerable<CourseLesson> Lessons => Before is null ? [] : Before.Lessons.Append(Last!);
    }
}
