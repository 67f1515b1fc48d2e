using System.Globalization;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Core.Pupils;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Strip;

namespace School.Web.Modules.Diary.Day;

/// <summary>The stops of a day's road: who, when and where, what to do there, and what was said last.</summary>
internal sealed class DayStops(DaySheet day, PupilNotes notes)
{
    private readonly DiaryContext context = day.Context;
    private readonly Dictionary<Guid, Lesson> lessons = day.Lessons.ToDictionary(l => l.Id);
    private readonly Dictionary<Guid, TestDay> tests = day.Tests.ToDictionary(t => t.Id);

    // The one to record: the latest that has begun and says nothing yet.
    private readonly Lesson? toRecord = day.Lessons.LastOrDefault(l => l.State is LessonState.Booked && l.EndsAt <= day.Context.Now);

    public RoadStop Of(RouteStop stop)
    {
        if (tests.TryGetValue(stop.Entry.Id, out var test))
        {
            return TestStop(test);
        }

        var lesson = lessons[stop.Entry.Id];
        var pupil = context.Pupils[lesson.PupilId];
        var check = !pupil.EyesightChecked && lesson.State is LessonState.Booked;
        var need = pupil.Need.Length == 0 ? null : pupil.Need;
        var first = lesson.State is LessonState.Booked ? new BeforeDriving(pupil.Id, pupil.BeforeDriving) : new(pupil.Id, FirstLessonNeeds.None);
        var quiet = lesson.State is not LessonState.Booked;
        var last = !pupil.NameOnly && notes.LastNote.GetValueOrDefault(lesson.PupilId) is { Length: > 0 } note ? $"Last note: {note}" : null;
        return new RoadStop(pupil.Name, State(lesson))
        {
            Times = context.Times(lesson.During),
            Length = lesson.MinutesTaught is { } taught && taught != lesson.Minutes ? $"{ScreenWords.Length(taught)} of {ScreenWords.Length(lesson.Minutes)}" : ScreenWords.Length(lesson.Minutes),
            Href = $"/diary/lessons/{lesson.Id}",
            First = first.ToStaff is { } seen ? $"{BeforeDriving.Label}: {seen}." : null,
            NeedLabel = check ? "Check" : "Next",
            Need = quiet ? null : check ? pupil.EyesightFailedOn is null ? $"{(first.Needs.HasFlag(FirstLessonNeeds.Licence) ? "" : LearnsOnProvisional(pupil) ? "provisional licence, " : "driving licence, ")}eyesight at 20 metres." : "eyesight: the last check was failed, so no drive before one is passed." : need,
            LastNote = quiet ? (lesson.Note.Length > 0 && !pupil.NameOnly ? lesson.Note : null) : check && need is not null ? $"Next: {need} {last}".Trim() : last,
            Where = quiet ? null : Where(lesson.PickUp, lesson.DropOff),
            Phone = quiet || pupil.Phone.Length == 0 ? null : Phone.Display(pupil.Phone),
            Tags = [.. Tags(lesson, pupil)],
            Actions = [.. first.ToStaff is null ? Array.Empty<RoadAction>() : [new(first.Page, first.Act)], .. Actions(lesson, pupil)],
        };
    }

    // Whose foreign licence no longer counts learns on the provisional beside it.
    private bool LearnsOnProvisional(PupilCard pupil) => pupil.Licence is null or { Kind: LicenceKind.Provisional }
        || (pupil.Licence.Kind is LicenceKind.Foreign && pupil.Learner(day.Date).StandingOn(day.Date) is LicenceStanding.Learner);

    private RoadStop TestStop(TestDay test)
    {
        var pupil = context.Pupils[test.PupilId];
        var ahead = test.EndsAt > context.Now && test.State is TestDayState.Booked;
        var after = new RoadAction(TestDayWords.Address(test.Id), "Test day");
        return new RoadStop(
            pupil.Name, test.HasResult ? StopState.Taught : test.Blocked.Contains(context.Now) ? StopState.Now : StopState.Ahead)
        {
            Times = context.Times(test.Blocked),
            Length = $"test at {context.School.Time(test.StartsAt)}",
            Href = TestDayWords.Address(test.Id),
            NeedLabel = "Test",
            Need = ahead ? $"{context.School.Time(test.StartsAt)} at {test.Centre.Label}" : null,
            Where = ahead ? Where(test.PickUp, test.EndsWhere) : null,
            Phone = ahead && pupil.Phone.Length > 0 ? Phone.Display(pupil.Phone) : null,
            Tags = ["practical test", .. test.HasResult ? [TestDayWords.Of(test).ToLowerInvariant()] : Array.Empty<string>()],
            Actions = ahead
                ? [.. Navigate(test.PickUp, "Navigate"), .. Navigate(test.Centre, "Navigate to the centre"), .. Call(pupil), after]
                : [after],
        };
    }

    private StopState State(Lesson lesson) => lesson.State switch
    {
        LessonState.Taught => StopState.Taught,
        LessonState.Missed => StopState.Missed,
        _ => lesson.During.Contains(context.Now) ? StopState.Now : StopState.Ahead,
    };

    private IEnumerable<string> Tags(Lesson lesson, PupilCard pupil)
    {
        if (lesson.State is LessonState.Booked && notes.FirstLessons.Contains(lesson.Id))
        {
            yield return "first lesson";
        }

        if (context.Rules.NameOf(lesson.Kind) is { } kind)
        {
            yield return KindWords.Lower(kind)!;
        }

        foreach (var rest in lesson.Rests())
        {
            yield return $"break {context.Times(rest)}";
        }

        if (context.Late.TryGetValue(lesson.Id, out var late) && late.AppliesTo(lesson))
        {
            yield return $"▲ {Words.Count(late.Minutes, "minute")} late, {(pupil.HasEmail ? "told" : "not told: no e-mail address, ring them")}";
        }

        if (lesson.State is LessonState.Booked && lesson.EndsAt <= context.Now)
        {
            yield return "not recorded yet";
        }

        if (day.Lessons.Select(l => l.CarId).Distinct().Count() > 1 && context.Cars.TryGetValue(lesson.CarId, out var car))
        {
            yield return CarWords.Of(car);
        }

        if (pupil.NeedsDualControls && context.Cars.TryGetValue(lesson.CarId, out var used) && !used.Facts.DualControls)
        {
            yield return "needs dual controls";
        }
    }

    private IEnumerable<RoadAction> Actions(Lesson lesson, PupilCard pupil)
    {
        // Nothing asks for a hand-held device while a learner is being supervised: recording waits for the end.
        if (lesson.State is LessonState.Booked && lesson.EndsAt <= context.Now)
        {
            yield return new(LessonPages.Record(lesson.Id), "Record when parked", Primary: lesson == toRecord);
        }

        if (lesson.Kind == LessonKind.Mock && lesson.StartsAt <= context.Now && lesson.State is LessonState.Booked or LessonState.Taught)
        {
            yield return new(LessonPages.Mock(lesson.PupilId, lesson.Id), "Mock sheet");
        }

        if (lesson.State is LessonState.Booked && lesson.EndsAt > context.Now)
        {
            yield return new(LessonPages.Brief(lesson.Id), "Brief");
            foreach (var action in Navigate(lesson.PickUp, "Navigate"))
            {
                yield return action;
            }

            if (lesson.DropOff.Address != lesson.PickUp.Address || lesson.DropOff.At() != lesson.PickUp.At())
            {
                foreach (var action in Navigate(lesson.DropOff, "Navigate to the end"))
                {
                    yield return action;
                }
            }
        }

        if (lesson.State is LessonState.Booked)
        {
            foreach (var action in Call(pupil))
            {
                yield return action;
            }
        }

        yield return new($"/diary/lessons/{lesson.Id}", "Lesson");
    }

    private RoadAction[] Navigate(Place place, string words) => place.IsFound ? [new(MapLinks.Of(context.Rules.MapLink, place.At()), words)] : [];

    /// <summary>What is wanted at the kerb before the stop: the brief, the way there, a word with the pupil.</summary>
    public IReadOnlyList<RoadAction> AtTheKerb(DiaryEntry entry)
    {
        var pupil = context.Pupils[entry.PupilId!.Value];
        return tests.TryGetValue(entry.Id, out var test)
            ? [.. Navigate(test.PickUp, "Navigate"), .. Call(pupil), new(TestDayWords.Address(test.Id), "Test day")]
            : [new(LessonPages.Brief(entry.Id), "Brief"), .. Navigate(lessons[entry.Id].PickUp, "Navigate"), .. Call(pupil)];
    }

    /// <summary>"52.4507,-1.105".</summary>
    public static string Position(Place place) => string.Create(CultureInfo.InvariantCulture, $"{place.Latitude:0.######},{place.Longitude:0.######}");

    private static RoadAction[] Call(PupilCard pupil) => pupil.Phone.Length > 0 ? [new($"tel:{pupil.Phone}", "Call")] : [];

    private static string Where(Place from, Place to) =>
        from.Written == to.Written ? $"From and to {from.Written}" : $"From {from.Written}, ends at {to.Written}";
}
