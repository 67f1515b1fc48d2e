using NodaTime;
using School.Core.Diary.TestDays;
using School.Core.Diary.Time;
using School.Core.Syllabus.Mocks;
using School.Web.Modules.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Demo.Scale;

/// <summary>Practical tests: of a finished course the one that was passed, before it those that were not; of a present one the day ahead.</summary>
internal sealed class ScaleTests(ScalePupil pupil)
{
    private const int DaysBeforeLastFreeDay = 7;
    private const int DaysAtMost = 6;

    // The second and third try are passed more often than the first: an invented share, near the published one of the first.
    private const int PassedAtFirst = 49;
    private const int PassedLater = 70;
    private const int Tries = 3;
    private static readonly LocalTime ReminderTime = new(17, 0);
    private static readonly LocalTime[] Times = [new(8, 10), new(9, 7), new(10, 14), new(11, 11), new(12, 38), new(13, 35), new(14, 32)];

    private readonly ScaleCalendar _calendar = pupil.Ground.Calendar;
    private readonly TestDaySettings _settings = pupil.Ground.Tests;
    private Instant _known = pupil.Joined;

    /// <summary>The day of the last test; of those who learn still, today.</summary>
    public LocalDate Take(IReadOnlyList<Lesson> lessons)
    {
        if (pupil.Course.Test is { } ahead)
        {
            Enter(ahead, pupil.Teacher, entered: _calendar.Now - Duration.FromHours(30 + pupil.Dice.Next(400)), by: pupil.Ground.Staff.Office);
        }

        if (pupil.Course.Present)
        {
            return _calendar.Today;
        }

        var on = NextHeld(lessons[^1].StartsAt.InZone(_calendar.Zone).Date.PlusDays(2 + pupil.Dice.Next(DaysAtMost)));
        for (var n = 1; ; n++)
        {
            var start = on + pupil.Dice.Of(Times);
            var passed = n == Tries || pupil.Dice.Percent(n == 1 ? PassedAtFirst : PassedLater);
            var test = Enter(start, null, _calendar.At(on.PlusDays(-25 - pupil.Dice.Next(15)), 19), pupil.Viewer);
            Result(test, passed);
            if (passed)
            {
                return on;
            }

            on = NextHeld(PracticalTest.EarliestRetest(on, _settings.RetestDays, Nation.EnglandAndWales, _calendar.Holidays).PlusDays(pupil.Dice.Next(DaysAtMost)));
        }
    }

    private LocalDate NextHeld(LocalDate date)
    {
        while (!PracticalTest.IsUsualOn(date) || _calendar.Holidays.Contains(date))
        {
            date = date.PlusDays(1);
        }

        return date;
    }

    private TestDay Enter(LocalDateTime local, ScaleTeacher? along, Instant entered, Viewer by)
    {
        var start = _calendar.At(local);
        // A retest is entered once the one before it is known.
        entered = Instant.Max(entered, _known + Duration.FromHours(2));
        var test = TestDay.Enter(pupil.Row.Id, new(
            start, Duration.FromMinutes(_settings.TestMinutes), along is null ? 0 : _settings.LeadMinutes, along is null ? 0 : _settings.TailMinutes, Larkfield.TestCentre,
            Nation.EnglandAndWales, pupil.Row.PickUp, false, $"{41_000_000 + (pupil.Course.Number * 7)}", pupil.Teacher.Gearbox, along?.Row.Id, along?.CarId, false),
            entered, pupil.Ids.Next(entered));
        if (along is not null)
        {
            test.InsuredSeenOn = _calendar.Today;
        }

        Note(test, entered, by, $"Entered: {pupil.Ground.School.Short(start)} at {test.Centre.Label}{(along is null ? "" : $", with {along.Row.Name}")}.");
        Letters(test, local.Date, along, entered, by);
        return pupil.Rows.Add(test);
    }

    private void Letters(TestDay test, LocalDate on, ScaleTeacher? along, Instant entered, Viewer by)
    {
        var last = WorkingDays.LastDayToChangeTest(on, _settings.NoticeDays, Nation.EnglandAndWales, _calendar.Holidays);
        List<Fact> facts =
        [
            Fact.Of(TestDayWording.Pupil, pupil.Row.Name), Fact.Of(TestDayWording.Starts, test.StartsAt), Fact.Of(TestDayWording.Centre, Words.Where(test.Centre)),
            Fact.Of(TestDayWording.FreeUntil, last), Fact.Of(TestDayWording.SafeUntil, last.PlusDays(-1)), Fact.Of(TestDayWording.NoticeDays, _settings.NoticeDays),
        ];
        if (along is not null)
        {
            facts.AddRange([Fact.Of(TestDayWording.Instructor, along.Row.Name), Fact.Of(TestDayWording.PickUp, test.PickUp.Label) with { From = test.BlockedFrom }]);
        }

        if (by.PupilId is null)
        {
            Write(TestDayWording.Entered, test.StartsAt, null);
        }

        Write(TestDayWording.LastFreeDay, _calendar.At(last.PlusDays(1).AtMidnight()), last.PlusDays(-DaysBeforeLastFreeDay));
        Write(TestDayWording.Tomorrow, test.StartsAt, on.PlusDays(-1));

        void Write(string kind, Instant uselessAt, LocalDate? evening)
        {
            Instant? due = evening is { } day ? _calendar.At(day + ReminderTime) : null;
            if (due <= entered)
            {
                return;
            }

            To("pupil", pupil.Receiver, pupil.Address);
            if (along is { Row: var teacher })
            {
                To("instructor", Receiver.Instructor(teacher.Id), new(teacher.Name, teacher.Email));
            }

            void To(string to, Receiver receiver, Addressee address) => ScalePeople.Write(
                pupil.Rows, pupil.Ids,
                new(kind, $"{kind}:{test.Id}:{test.Sequence}:{to}", test.Id, receiver, facts)
                {
                    Acts = [new(TestDayWording.Open, $"/diary/test-days/{test.Id}")],
                    DueAt = due,
                    UselessAt = uselessAt,
                },
                address, entered, _calendar.Now);
        }
    }

    private void Result(TestDay test, bool passed)
    {
        var marks = new List<TestDayMarks>();
        foreach (var heading in MockMarking.MostFailed.Take(2 + pupil.Dice.Next(4)))
        {
            marks.Add(new() { Heading = heading.Code, Driving = 1 + pupil.Dice.Next(3), Serious = !passed && marks.Count == 0 ? 1 : 0 });
        }

        var sum = marks.Aggregate(default(TestMarks), (all, one) => all + one.Count());
        test.Record(TestEnding.Completed, passed, sum, marks, pupil.Dice.Next(3), 0, "");
        test.Touch();
        _known = test.EndsAt + Duration.FromHours(2);
        Note(test, _known, pupil.Teacher.Viewer, $"Result: {(passed ? "passed" : "failed")}, {TestResultReading.Words(sum)}.");
    }

    private void Note(TestDay test, Instant at, Viewer by, string words) => pupil.Rows.Add(new TestDayChange
    {
        Id = pupil.Ids.Next(at),
        TestDayId = test.Id,
        At = at,
        ByPersonId = by.PersonId,
        ByName = by.Name,
        Words = words,
    });
}
