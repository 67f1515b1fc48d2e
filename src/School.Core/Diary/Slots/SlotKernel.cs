using NodaTime;
using School.Core.Diary.Time;

namespace School.Core.Diary.Slots;

/// <summary>Looks through prepared days by the rules of <see cref="SlotSearch"/>, rule after rule over whole runs of starts.</summary>
/// <remarks>
/// Every rule but that of the cars forbids starts in whole intervals, so each takes runs off the day's grid and counts what it took.
/// Between two entries the legs change only with the hour; within an hour the drives leave one interval, and the rest rule turns over
/// at two moments only: from the first the lesson has a rest before it, up to the second one after it.
/// </remarks>
internal ref partial struct SlotKernel
{
    private readonly SlotWorkspace room;
    private readonly SearchGround ground;
    private readonly DiaryRules rules;
    private readonly LessonWish wish;
    private readonly LessonPlan plan;
    private readonly long length;
    private readonly long now;
    private readonly long noticeEnds;
    private readonly LocalDate lastDate;
    private readonly bool lengthIsOffered;
    private BestStarts best;
    private int found;
    private long earliest = long.MaxValue;
    private PreparedDay day;
    private int dayNumber;
    private bool isBound;

    // The limit that stands in the way of every lesson on the day.
    private SlotRule? limit;

    public SlotKernel(SlotWorkspace room, SearchGround ground, Instant now, LessonWish wish, BestStarts best)
    {
        (this.room, this.ground, this.wish, rules, day) = (room, ground, wish, ground.Rules, null!);
        this.best = best;
        plan = LessonPlan.Of(wish.Minutes, rules);
        length = plan.Elapsed * NodaConstants.TicksPerMinute;
        this.now = now.ToUnixTimeTicks();
        noticeEnds = this.now + (rules.NoticeToBookHours * NodaConstants.TicksPerHour);
        lastDate = now.InZone(ground.Zone).Date.PlusDays(rules.HorizonDays);
        lengthIsOffered = SlotJudge.LengthIsOffered(wish, rules);
    }

    public SlotTally Finish()
    {
        best.Sort();
        return new(best.Count, found, found == 0 ? null : Instant.FromUnixTimeTicks(earliest));
    }

    public void Look(PreparedDay at, int number)
    {
        (day, dayNumber, isBound) = (at, number, wish.IsBoundOn(at.Date));
        if (day.Spans.Length == 0)
        {
            room.Refuse(SlotRule.OutsideWorkingHours, 1);
        }

        var first = day.StartsBefore(now);
        room.Refuse(SlotRule.InThePast, first);
        if (first < day.Starts.Length && !lengthIsOffered)
        {
            room.Refuse(SlotRule.LengthNotOffered, day.Starts.Length - first);
            return;
        }
        if (wish.NoticeApplies)
        {
            var noticed = Math.Max(first, day.StartsBefore(noticeEnds));
            room.Refuse(SlotRule.InsideNotice, noticed - first);
            first = noticed;
        }
        if (first == day.Starts.Length)
        {
            return;
        }

        if (RuleOfDate() is { } rule)
        {
            room.Refuse(rule, day.Starts.Length - first);
        }
        else
        {
            LookWithinHours(first);
        }
    }

    private readonly SlotRule? RuleOfDate() =>
        wish.NoticeApplies && day.Date > lastDate ? SlotRule.BeyondHorizon
        : SlotJudge.RuleOfPeople(wish, day.Instructor, day.Date, day.WholeDay, rules);

    private void LookWithinHours(int first)
    {
        limit = Weeks.Minutes(wish.Pupil.Lessons, day.Week, wish.MovingLessonId) + wish.Minutes > wish.Pupil.WeeklyMinutes ? SlotRule.WeeklyLimit
            : day.Taught + wish.Minutes > day.Instructor.DailyLimit(rules) ? SlotRule.DailyLimit
            : null;
        var outside = day.Starts.Length - first;
        foreach (var span in day.Spans)
        {
            var from = Math.Max(first, day.StartsBefore(span.Start));
            var until = day.StartsBefore(span.End - length + 1);
            if (from >= until)
            {
                continue;
            }

            outside -= until - from;
            LookBesideTimeOff(from, until);
        }
        room.Refuse(SlotRule.OutsideWorkingHours, outside);
    }

    private void LookBesideTimeOff(int from, int until)
    {
        foreach (var off in day.TimeOff)
        {
            var (off1, off2) = Forbidden(off);
            if (off2 <= from || off1 >= until)
            {
                continue;
            }

            if (off1 > from)
            {
                LookBetweenEntries(from, off1);
            }

            room.Refuse(SlotRule.TimeOff, Math.Min(off2, until) - Math.Max(off1, from));
            from = Math.Max(from, off2);
            if (from >= until)
            {
                return;
            }
        }
        LookBetweenEntries(from, until);
    }

    private void LookBetweenEntries(int from, int until)
    {
        var busy = until - from;
        for (var i = 0; i < day.Openings.Length; i++)
        {
            var opening = day.Openings[i];
            // The last start of the run is before the opening, or the first is after it.
            if (opening.From > day.Starts[until - 1])
            {
                break;
            }

            if (opening.Until - length < Math.Max(opening.From, day.Starts[from]))
            {
                continue;
            }

            var first = Math.Max(from, day.StartsBefore(opening.From));
            var end = Math.Min(until, day.StartsBefore(opening.Until - length + 1));
            if (first >= end)
            {
                continue;
            }

            busy -= end - first;
            LookBesidePupilsLessons(opening, first, end);
        }
        room.Refuse(SlotRule.InstructorBusy, busy);
    }

    private void LookBesidePupilsLessons(Opening opening, int from, int until)
    {
        foreach (var lesson in room.PupilLessons)
        {
            if (lesson.Start >= day.Starts[until - 1] + length)
            {
                break;
            }

            if (lesson.End <= day.Starts[from])
            {
                continue;
            }

            var (taken1, taken2) = Forbidden(lesson);
            if (taken1 > from)
            {
                LookUnderLimits(opening, from, taken1);
            }

            if (taken2 > from)
            {
                room.Refuse(SlotRule.PupilBusy, Math.Min(taken2, until) - Math.Max(taken1, from));
            }

            from = Math.Max(from, taken2);
            if (from >= until)
            {
                return;
            }
        }
        LookUnderLimits(opening, from, until);
    }

    /// <summary>The starts at which the lesson would overlap a period.</summary>
    private readonly (int From, int Until) Forbidden(Ticks period) =>
        (day.StartsBefore(period.Start - length + 1), day.StartsBefore(period.End));

    private void LookUnderLimits(Opening opening, int from, int until)
    {
        if (limit is { } rule)
        {
            room.Refuse(rule, until - from);
        }
        else
        {
            LookByTheHour(opening, from, until);
        }
    }
}
