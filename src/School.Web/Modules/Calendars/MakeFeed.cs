using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Calendars;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Calendars;

/// <summary>Whose lessons, and how much of them; one of the three ids.</summary>
internal sealed record FeedRequest(Guid? InstructorId = null, Guid? PupilId = null, Guid? CarId = null, FeedDetail? Detail = null, bool HideCancelled = false);

/// <summary>A new feed, and the only time that its secret is told.</summary>
internal sealed record NewFeed(Feed Row, string Secret);

/// <summary>Makes a feed: pupils and instructors of their own lessons, the office of anybody's and of cars.</summary>
internal sealed class MakeFeed(SchoolDb db, IClock clock, PupilBook pupils, InstructorBook instructors, CarPark cars, SchoolInfo school, Audit audit)
{
    /// <summary>For pupils and instructors. Enough for every device; a script that runs wild is stopped.</summary>
    public const int MostFeeds = 20;

    public Task<Outcome<NewFeed>> RunAsync(Viewer viewer, FeedRequest request, CancellationToken cancel) => db.InTransactionAsync<NewFeed>(async cancel =>
    {
        var subjects = new[] { request.InstructorId, request.PupilId, request.CarId }.Count(id => id is not null);
        var wrong = new FieldErrors()
            .When(subjects != 1, "Subject", "Give one of instructorId, pupilId and carId.")
            .When(request.Detail is null, nameof(request.Detail), "Choose what it shows: full, area or busy.");
        if (wrong.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        await db.LockAsync([$"feeds:{viewer.PersonId}"], cancel);
        if (await UnknownAsync(viewer, request, cancel) is { } unknown)
        {
            return unknown;
        }

        if (!viewer.KeepsDiary && await db.Set<Feed>().CountAsync(f => f.OwnerPersonId == viewer.PersonId && f.RevokedAt == null, cancel) >= MostFeeds)
        {
            return Refusal.Rule("too_many_feeds", $"You have {MostFeeds} calendar addresses already. Revoke one that is not used any more.");
        }

        var secret = FeedSecret.New();
        var feed = new Feed
        {
            SecretHash = FeedSecret.HashOf(secret),
            OwnerPersonId = viewer.PersonId,
            InstructorId = request.InstructorId,
            PupilId = request.PupilId,
            CarId = request.CarId,
            Detail = request.Detail!.Value,
            HideCancelled = request.HideCancelled,
            CreatedAt = clock.GetCurrentInstant(),
        };
        db.Add(feed);
        var whose = feed.PupilId is not null ? "a pupil" : feed.InstructorId is not null ? "an instructor" : "a car";
        audit.Note(viewer, "feed.make", feed.Id, $"Made a calendar address of {whose}, detail: {feed.Detail.ToString().ToLowerInvariant()}.");
        return new NewFeed(feed, secret);
    }, cancel);

    private async Task<Refusal?> UnknownAsync(Viewer viewer, FeedRequest request, CancellationToken cancel)
    {
        if (request.PupilId is { } pupil)
        {
            var own = viewer.KeepsDiary || viewer.PupilId == pupil;
            return own && await pupils.FindAsync(pupil, viewer, cancel) is not null ? null : Refusal.NotFound("pupil");
        }

        if (request.InstructorId is { } instructor)
        {
            var own = viewer.KeepsDiary || viewer.InstructorId == instructor;
            return own && await instructors.FindAsync(instructor, cancel) is not null ? null : Refusal.NotFound("instructor");
        }

        var zone = (await school.GetAsync(cancel)).Zone;
        return viewer.KeepsDiary && (await cars.ReadAsync(zone, alsoRetired: false, cancel)).Cars.Any(c => c.Id == request.CarId) ? null : Refusal.NotFound("car");
    }
}
