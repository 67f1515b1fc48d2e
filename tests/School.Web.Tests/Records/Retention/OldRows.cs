using System.Security.Cryptography;
using NodaTime;
using School.Core.Calendars;
using School.Web.Modules.Calendars;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Halts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Swaps;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Messages;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Pupils;
using School.Web.Modules.Travel;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Security;
using School.Web.Tests.Host;

namespace School.Web.Tests.Records.Retention;

/// <summary>Rows of every kind that is kept for a time, each made so that its age counts from a moment.</summary>
internal sealed class OldRows(SchoolHost host, Guid person, Guid instructor, Guid pupil, Guid car)
{
    private int _count;

    public static async Task<OldRows> OnAsync(SchoolHost host)
    {
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        return new(host, (await host.Data.OfficeAsync()).Id, instructor.Id, pupil.Id, (await host.Data.CarAsync()).Id);
    }

    /// <summary>By the code of the rule: adds one whose age counts from then.</summary>
    public Dictionary<string, Func<Instant, Task>> Makers => new(StringComparer.Ordinal)
    {
        ["letters_to_pupils"] = since => host.AddAsync(Letter(proof: true, since, MessageState.Sent, since)),
        ["letters_other"] = since => host.AddAsync(Letter(proof: false, since, MessageState.Withdrawn, since)),
        ["kept_answers"] = since => host.AddAsync(new IdempotentAnswer
        {
            PersonId = person,
            Key = $"{++_count}",
            RequestHash = "",
            Status = 200,
            ContentType = null,
            Location = null,
            ETag = null,
            Body = [],
            At = since,
        }),
        ["attempts"] = since => host.AddAsync(new AttemptCount { Key = $"{++_count}", WindowStart = since, Count = 1 }),
        ["sessions"] = since => host.AddAsync(new Session
        {
            PersonId = person,
            Hash = Octets(),
            Device = "",
            StartedAt = since - Duration.FromDays(1),
            EndsAt = since,
            LastUsedAt = since,
            SecurityStamp = "",
        }),
        ["tokens"] = since => host.AddAsync(new ApiToken
        {
            PersonId = person,
            Hash = Octets(),
            Name = "",
            Scope = TokenScope.Read,
            CreatedAt = since - Duration.FromDays(7),
            ExpiresAt = since,
            SecurityStamp = "",
        }),
        ["freed_times"] = async since =>
        {
            var freed = Freed(since);
            var waits = new WaitingEntry { PupilId = (await host.Data.PupilAsync()).Id, Since = since }.Take(new(WaitingFor.EarlierLesson, null, null, null));
            await host.AddAsync(freed, waits);
            await host.AddAsync(Offer(freed, waits));
        },
        ["closed_waiting"] = since => host.AddAsync(Closed(since)),
        ["proposals"] = async since =>
        {
            var proposal = Asked(since);
            proposal.Stop();
            var lesson = AnyLesson(since);
            await host.AddAsync(lesson);
            await host.AddAsync(proposal, new SwapAnswer { ProposalId = proposal.Id, LessonId = lesson.Id, PupilId = pupil, LapsesAt = since, SecretHash = Octets() }, new HaltCall { HaltId = proposal.Id, PupilId = pupil, CalledAt = since, ByPersonId = person, ByName = "Rosalind Pike" });
        },
        ["late_notes"] = async since =>
        {
            var lesson = AnyLesson(since);
            await host.AddAsync(lesson);
            await host.AddAsync(new LateNote { LessonId = lesson.Id, StartsAt = lesson.StartsAt, Minutes = 5, ToldAt = since });
        },
        ["occupied_past"] = since => host.WithDbAsync(db => Microsoft.EntityFrameworkCore.RelationalDatabaseFacadeExtensions.ExecuteSqlAsync(
            db.Database, $"INSERT INTO diary.occupied (entry_id, kind, pupil_id, during) VALUES ({Guid.NewGuid()}, 'lesson', {Guid.NewGuid()}, tstzrange({since - Duration.FromHours(1)}, {since}))")),
        ["recorded_drives"] = async since => await host.AddAsync(new RecordedDrive
        {
            InstructorId = (await host.Data.InstructorAsync()).Id,
            FromLabel = "",
            FromLatitude = 52,
            FromLongitude = -1,
            ToLabel = "",
            ToLatitude = 52.1,
            ToLongitude = -1,
            LeftAt = since,
            ArrivedAt = since + Duration.FromMinutes(9),
        }),
        ["pupil_accesses"] = since => host.AddAsync(new PupilAccess
        {
            PupilId = pupil,
            PersonId = person,
            ByName = "Piers Anstey",
            Reason = "They called me.",
            At = since,
            Until = since + Duration.FromHours(9),
        }),
        ["revoked_feeds"] = since => host.AddAsync(Address(since)),
    };

    /// <summary>However old they are, these stay: what has not ended, and what something younger needs.</summary>
    public async Task AddWhatStaysAsync(Instant old)
    {
        var waits = Closed(old);
        var freed = Freed(host.Clock.GetCurrentInstant() + Duration.FromDays(1));
        await host.AddAsync(
            Letter(proof: true, old, MessageState.Waiting, null), Letter(proof: false, old, MessageState.Waiting, null), Asked(old), Address(null), freed, waits,
            new WaitingEntry { PupilId = (await host.Data.PupilAsync()).Id, Since = old }.Take(new(WaitingFor.EarlierLesson, null, null, null)));
        await host.AddAsync(Offer(freed, waits));
    }

    /// <summary>One of its own for each row.</summary>
    private Lesson AnyLesson(Instant since)
    {
        var start = host.Clock.GetCurrentInstant() + Duration.FromDays(++_count);
        return Lesson.Book(pupil, instructor, car, new(start, start + Duration.FromMinutes(1)), TestData.PlaceAt(), TestData.PlaceAt(), since);
    }

    private Message Letter(bool proof, Instant written, MessageState state, Instant? closed) => new()
    {
        Key = $"old:{++_count}",
        AboutId = RowId.New(),
        Kind = "lesson_booked",
        Receiver = ReceiverKind.Pupil,
        ReceiverId = pupil,
        ToName = "Tamsin Oakley",
        ToAddress = "tamsin@larkfield.example",
        Content = "[[]]",
        Proof = proof,
        WrittenAt = written,
        DueAt = written,
        State = state,
        ClosedAt = closed,
    };

    private FreedSlot Freed(Instant start) => new()
    {
        InstructorId = instructor,
        StartsAt = start,
        EndsAt = start + Duration.FromHours(1),
        FreedAt = start - Duration.FromDays(2),
        FreedByPupilId = pupil,
        State = FreedState.Over,
    };

    private static OfferedSlot Offer(FreedSlot freed, WaitingEntry waits) => new()
    {
        FreedId = freed.Id,
        WaitingId = waits.Id,
        PupilId = waits.PupilId,
        InstructorId = freed.InstructorId,
        StartsAt = freed.StartsAt,
        Minutes = 60,
        OfferedAt = freed.FreedAt,
        HeldUntil = freed.FreedAt + Duration.FromHours(1),
        State = OfferState.Lapsed,
        SecretHash = Octets(),
    };

    private WaitingEntry Closed(Instant at)
    {
        var entry = new WaitingEntry { PupilId = pupil, Since = at - Duration.FromDays(1) }.Take(new(WaitingFor.EarlierLesson, null, null, null));
        entry.Close(WaitingState.Left, at);
        return entry;
    }

    private Proposal Asked(Instant at) => new() { Kind = ProposalKind.Cover, Ask = "{}", AskedBy = person, AskedAt = at, PupilId = null };

    private Feed Address(Instant? revoked) => new()
    {
        SecretHash = Octets(),
        OwnerPersonId = person,
        PupilId = pupil,
        Detail = FeedDetail.Busy,
        CreatedAt = Instant.FromUtc(2010, 1, 1, 0, 0),
        RevokedAt = revoked,
    };

    private static byte[] Octets() => RandomNumberGenerator.GetBytes(32);
}
