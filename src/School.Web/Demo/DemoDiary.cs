using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Platform.Access;

namespace School.Web.Demo;

/// <summary>Books, moves, cancels and records the lessons of the made-up weeks, each at a moment when somebody would have.</summary>
internal sealed class DemoDiary(IServiceProvider services, DemoClock clock, Instant now, DateTimeZone zone, DemoLearning learning)
{
    /// <summary>Of eight pupils the one who has begun last, and in which week.</summary>
    public const int LateBeginner = 6;
    public const int LatestBegin = -3;

    private const int Seed = 20_040;

#pragma warning disable CA5394 // Chance in made-up data, the same every time, guards nothing.
    private readonly Random _chance = new(Seed);
#pragma warning restore CA5394

    private readonly LocalDate _thisMonday = now.InZone(zone).Date.With(DateAdjusters.PreviousOrSame(IsoDayOfWeek.Monday));
    private readonly LocalDate _today = now.InZone(zone).Date;

    public async Task FillAsync(IReadOnlyList<DemoPupil> pupils)
    {
        for (var week = -DemoSchool.WeeksBack; week < DemoSchool.WeeksAhead; week++)
        {
            var booked = new List<(DemoPupil Pupil, Lesson Lesson)>();
            foreach (var pupil in pupils)
            {
                if (!HasLessonIn(pupil, week) || await BookAsync(pupil, week) is not { } lesson)
                {
                    continue;
                }

                booked.Add((pupil, lesson));
            }

            foreach (var (pupil, lesson) in booked)
            {
                await LiveAsync(pupil, lesson);
            }
        }
    }

    /// <summary>Most come weekly, some every other week, a few have finished or have yet to begin; the further ahead, the fewer have booked.</summary>
    private bool HasLessonIn(DemoPupil pupil, int week) => !(week >= -DemoTests.PassedWeeksAgo(pupil.Number)) && (pupil.Number % 8) switch
    {
        5 => week % 2 == 0,
        LateBeginner => week >= LatestBegin,
        7 => (week + 1) % 2 == 0,
        _ => true,
    } && (week < 2 || Chance(85 - (12 * week)));

    private async Task<Lesson?> BookAsync(DemoPupil pupil, int week)
    {
        var monday = _thisMonday.PlusWeeks(week);
        var earlier = At(monday.PlusDays(-8), 18) + Duration.FromMinutes(7 * pupil.Number);
        clock.Now = Instant.Min(earlier, now - Duration.FromMinutes(600 - pupil.Number));
        var kind = DemoKinds.KindOf(pupil.Number, week);
        var viewer = kind == LessonKind.Standard ? Of(pupil) : Viewer.Service;
        var found = await DemoVerbs.DoAsync<SlotFinder, SlotAnswer>(services, viewer, (finder, cancel) => finder.FindAsync(
            new(pupil.Pupil.Id, monday, monday.PlusDays(6), InstructorId: pupil.Instructor.Id) { Kind = kind }, viewer, cancel));
        var wanted = Wanted(pupil, monday);
        if (found.Offers.Where(offer => !Larkfield.IsPublicHoliday(offer.Start.InZone(zone).Date)).MinBy(offer => (Math.Abs((offer.Start - wanted).TotalMinutes) + (offer.ExtraDrivingMinutes * 6), offer.Start)) is not { } best)
        {
            return null;
        }

        var dropOff = (pupil.Number % 10) switch { 3 => Larkfield.College, 7 => Larkfield.School, _ => null };
        var booked = await DemoVerbs.TryAsync<BookLesson, Lesson>(services, viewer, (verb, cancel) => verb.RunAsync(
            viewer, new(pupil.Pupil.Id, best.InstructorId, best.Start, pupil.Pupil.LessonMinutes, DropOff: dropOff is null ? null : PlaceInput.Of(dropOff), Kind: kind), cancel));
        return booked.Value;
    }

    /// <summary>What becomes of a booked lesson.</summary>
    private async Task LiveAsync(DemoPupil pupil, Lesson lesson)
    {
        var fate = Next(100);
        if (fate < 6)
        {
            var hoursBefore = fate < 2 ? 20 : 70;
            clock.Now = lesson.StartsAt - Duration.FromHours(hoursBefore);
            if (clock.Now < now && clock.Now > lesson.BookedAt)
            {
                await DemoVerbs.TryAsync<CancelLesson, Lesson>(services, Of(pupil), (verb, cancel) => verb.RunAsync(Of(pupil), lesson.Id, new(CancelReason.Pupil), null, cancel));
                return;
            }
        }
        else if (fate < 9)
        {
            clock.Now = lesson.StartsAt - Duration.FromHours(30);
            if (clock.Now < now && clock.Now > lesson.BookedAt)
            {
                var reason = fate == 6 ? CancelReason.InstructorIll : CancelReason.Weather;
                await DemoVerbs.TryAsync<CancelLesson, Lesson>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, lesson.Id, new(reason), null, cancel));
                return;
            }
        }

        if (lesson.EndsAt + Duration.FromMinutes(10) >= now)
        {
            return;
        }

        clock.Now = lesson.EndsAt + Duration.FromMinutes(10);
        var instructor = new Viewer(pupil.Instructor.Id, OfficeParts.None, pupil.Instructor.Id, null, pupil.Instructor.Name);
        var lately = lesson.StartsAt.InZone(zone).Date >= _today.PlusDays(-2);
        if (fate >= 97)
        {
            await DemoVerbs.TryAsync<MissLesson, Lesson>(services, instructor, (verb, cancel) => verb.RunAsync(instructor, lesson.Id, new("Not at the pick-up; called twice."), null, cancel));
        }
        else if (!(lately && fate is > 20 and < 30))
        {
            var short5 = fate % 9 == 0 ? 5 : 0;
            var record = learning.Next(pupil, lesson.Minutes - short5, DemoWords.Plain[Next(DemoWords.Plain.Length)], lesson.StartsAt.InZone(zone).Date);
            await DemoVerbs.DoAsync<RecordLesson, LessonSheet>(services, instructor, (verb, cancel) => verb.RunAsync(instructor, lesson.Id, record, null, cancel));
            await ReflectAsync(pupil, lesson);
        }
    }

    /// <summary>Some pupils say something about the lesson the same evening.</summary>
    private async Task ReflectAsync(DemoPupil pupil, Lesson lesson)
    {
        clock.Now = lesson.EndsAt + Duration.FromHours(3);
        if (learning.Reflection() is { } words && clock.Now < now)
        {
            await DemoVerbs.DoAsync<ReflectOnLesson, LessonSheet>(services, Of(pupil), (verb, cancel) => verb.RunAsync(Of(pupil), lesson.Id, new(words), null, cancel));
        }
    }

    private static Viewer Of(DemoPupil pupil) => new(pupil.Pupil.Id, OfficeParts.None, null, pupil.Pupil.Id, pupil.Pupil.Name);

    /// <summary>Every pupil has a weekday and an hour they like; five of the first instructor's like today's.</summary>
    private Instant Wanted(DemoPupil pupil, LocalDate monday)
    {
        var weekday = pupil.Number < 5 ? (int)_today.DayOfWeek - 1 : pupil.Number * 5 % 6;
        int[] hours = [9, 11, 14, 16, 10];
        return At(monday.PlusDays(weekday), hours[pupil.Number % hours.Length]);
    }

    private Instant At(LocalDate date, int hour) => (date + new LocalTime(hour, 0)).InZoneLeniently(zone).ToInstant();

    private bool Chance(int percent) => Next(100) < percent;

#pragma warning disable CA5394
    private int Next(int below) => _chance.Next(below);
#pragma warning restore CA5394
}
