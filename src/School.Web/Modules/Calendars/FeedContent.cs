using System.Buffers;
using NodaTime;
using School.Core.Calendars;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Calendars;

/// <summary>What a feed says: lessons of the last ninety days and the coming year, called-off ones for thirty days more.</summary>
internal sealed class FeedContent(LessonBook lessons, TestBook tests, SchoolInfo school, InstructorBook instructors, PupilBook pupils, CarPark cars, IClock clock)
{
    public static readonly Duration Back = Duration.FromDays(90);
    public static readonly Duration Ahead = Duration.FromDays(366);
    public static readonly Duration CancelledStay = Duration.FromDays(30);

    /// <summary>For so long after a lesson an instructor's calendar tells where its door is: after that the pupil may be somebody else's.</summary>
    public static readonly Duration DoorStays = Duration.FromDays(OwnPupils.DaysEachWay);

    /// <summary>The longest that a text is taken to stand: so far beyond the feed's end is looked for what comes into it.</summary>
    public static readonly Duration Stands = Duration.FromDays(1);

    /// <summary>Writes it, and returns until when it says that if nothing is changed.</summary>
    public async Task<Instant> WriteAsync(Feed feed, IBufferWriter<byte> to, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var facts = await school.GetAsync(cancel);
        var (during, end) = (new Interval(now - Back, now + Ahead + Stands), now + Ahead);
        var near = await lessons.LessonsForFeedAsync(during, now - CancelledStay, cancel, feed.InstructorId, feed.PupilId, feed.CarId);
        var nearDays = await tests.ForFeedAsync(during, now - CancelledStay, cancel, feed.InstructorId, feed.PupilId, feed.CarId);
        var rows = near.Where(l => l.StartsAt < end && !(feed.HideCancelled && l.State == LessonState.Cancelled)).ToList();
        var days = nearDays.Where(t => t.BlockedFrom < end && !(feed.HideCancelled && t.IsTakenOff)).ToList();
        var turns = near.Select(l => Turns(l.StartsAt, l.EndsAt, l.State == LessonState.Cancelled, l.ChangedAt, end))
            .Concat(nearDays.Select(t => Turns(t.BlockedFrom, t.BlockedUntil, t.IsTakenOff, t.ChangedAt, end)));
        var doors = feed.InstructorId is null ? [] : rows.Select(l => l.EndsAt + DoorStays).Where(until => until > now);
        var names = new Names(
            await instructors.NamesAsync(cancel),
            await pupils.CardsAsync([.. rows.Select(l => l.PupilId), .. days.Select(t => t.PupilId), .. feed.PupilId is { } pupil ? [pupil] : Array.Empty<Guid>()], cancel));
        var calendar = new FeedCalendar(await TitleAsync(feed, facts, names, cancel), facts.Zone);
        FeedWriter.Write(calendar, rows.SelectMany(l => Rests(feed, l).Prepend(Event(feed, l, names, now))).Concat(days.Select(t => Event(feed, t, facts, names))), to);
        return turns.Concat(doors).Append(now + Stands).Min();
    }

    /// <summary>When an entry next comes into the feed, or leaves it, by the mere passing of time.</summary>
    private static Instant Turns(Instant starts, Instant ends, bool cancelled, Instant changed, Instant end) =>
        starts >= end ? starts - Ahead
        : cancelled ? Instant.Min(ends + Back, changed + CancelledStay)
        : ends + Back;

    private static FeedEvent Event(Feed feed, FeedLesson lesson, Names names, Instant now)
    {
        var text = FeedText.Of(Subject(feed, lesson, names, now), feed.Detail);
        var status = lesson.State == LessonState.Cancelled ? FeedStatus.Cancelled : FeedStatus.Confirmed;
        // A UUID by itself tells nothing of who or where (RFC 7986 section 5.3).
        return new(lesson.Id.ToString(), lesson.StartsAt, lesson.EndsAt, text.Summary, status, lesson.Sequence, lesson.BookedAt, lesson.ChangedAt)
        {
            Description = text.Description,
            Location = text.Location,
            Geo = text.Geo,
        };
    }

    /// <summary>The rests within a lesson, each an entry of its own. To those who see busy times only they are part of one.</summary>
    private static IEnumerable<FeedEvent> Rests(Feed feed, FeedLesson lesson)
    {
        var status = lesson.State == LessonState.Cancelled ? FeedStatus.Cancelled : FeedStatus.Confirmed;
        return feed.Detail == FeedDetail.Busy ? [] : lesson.Rests().Select((rest, number) => new FeedEvent(
            $"{lesson.Id}-break-{number + 1}", rest.Start, rest.End, "Break", status, lesson.Sequence, lesson.BookedAt, lesson.ChangedAt));
    }

    /// <summary>The time kept for the test; the title says when the test itself is.</summary>
    private static FeedEvent Event(Feed feed, FeedTest test, SchoolFacts school, Names names)
    {
        var time = ScreenWords.Time(test.StartsAt.InZone(school.Zone).TimeOfDay, school.TwelveHourClock);
        var person = feed.PupilId is not null ? null : names.Pupil(test.PupilId);
        var inCar = feed.CarId is not null && feed.Detail == FeedDetail.Full;
        var text = FeedText.Of(
            new($"Driving test at {time}", inCar ? FeedText.Initials(person) : person, null, InWords(test.Centre), test.Centre.Label, test.Centre.At()), feed.Detail);
        var status = test.IsTakenOff ? FeedStatus.Cancelled : FeedStatus.Confirmed;
        return new(test.Id.ToString(), test.BlockedFrom, test.BlockedUntil, text.Summary, status, test.Sequence, test.EnteredAt, test.ChangedAt)
        {
            Description = text.Description,
            Location = text.Location,
            Geo = text.Geo,
        };
    }

    private static FeedSubject Subject(Feed feed, FeedLesson lesson, Names names, Instant now)
    {
        var (pupil, instructor) = (names.Pupil(lesson.PupilId), names.Instructor(lesson.InstructorId));
        var place = lesson.PickUp;
        if (feed.CarId is not null)
        {
            // Who drives it and roughly where; the pupil's door is not the car's business.
            var driver = feed.Detail == FeedDetail.Full ? $"{instructor} with {FeedText.Initials(pupil)}" : instructor;
            return new(lesson.KindName ?? "Lesson", driver, null, place.Label, place.Label, null);
        }

        var (kind, person) = feed switch
        {
            { InstructorId: not null } => (lesson.KindName ?? "Lesson", pupil),
            { Detail: FeedDetail.Full } => ($"{lesson.KindName ?? "Driving lesson"} with {instructor.Split(' ')[0]}", null),
            _ => (lesson.KindName ?? "Driving lesson", instructor),
        };
        if (feed.InstructorId is not null && lesson.EndsAt + DoorStays <= now)
        {
            return new(kind, person, null, place.Label, place.Label, null);
        }

        var dropOff = lesson.DropOff == place ? null : $"Drop-off: {InWords(lesson.DropOff)}";
        return new(kind, person, dropOff, InWords(place), place.Label, place.IsFound ? place.At() : null);
    }

    private async Task<string> TitleAsync(Feed feed, SchoolFacts facts, Names names, CancellationToken cancel)
    {
        if (feed.Detail == FeedDetail.Busy)
        {
            return "Busy times";
        }

        if (feed.CarId is { } id)
        {
            var car = (await cars.ReadAsync(facts.Zone, alsoRetired: true, cancel)).Cars.FirstOrDefault(c => c.Id == id);
            return $"{car?.Label}, {facts.Name}";
        }

        var person = feed.InstructorId is { } instructor ? names.Instructor(instructor) : names.Pupil(feed.PupilId!.Value);
        return $"{(feed.Detail == FeedDetail.Full ? person : FeedText.Initials(person))}, {facts.Name}";
    }

    private static string InWords(Place place) =>
        string.Join(", ", new[] { place.Address.Length > 0 ? place.Address : place.Label, place.Postcode }.Where(part => part.Length > 0));

    private sealed record Names(IReadOnlyDictionary<Guid, string> Instructors, IReadOnlyDictionary<Guid, PupilCard> Pupils)
    {
        public string Instructor(Guid id) => Instructors.GetValueOrDefault(id, "");

        public string Pupil(Guid id) => Pupils.TryGetValue(id, out var card) ? card.Name : "";
    }
}
