using NodaTime;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Messages;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Messages.Writing;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Access;

namespace School.Web.Demo.Scale;

/// <summary>Sign-ins and letters, as rows.</summary>
internal static class ScalePeople
{
    private static readonly Duration UntilSent = Duration.FromSeconds(9);

    /// <summary>Somebody who was invited. The password comes later, for all who still sign in.</summary>
    public static Person Add(
        ScaleRows rows, ScaleIds ids, Instant at, string name, string email, OfficeParts parts = OfficeParts.None, Guid? instructorId = null, Guid? pupilId = null, bool closed = false)
    {
        var person = rows.Add(new Person
        {
            Id = ids.Next(at),
            Name = name,
            Parts = parts,
            InstructorId = instructorId,
            PupilId = pupilId,
            Closed = closed,
            Email = email,
            UserName = email,
            NormalizedEmail = email.ToUpperInvariant(),
            NormalizedUserName = email.ToUpperInvariant(),
            EmailConfirmed = true,
            LockoutEnabled = true,
            SecurityStamp = ids.Next(at).ToString("N").ToUpperInvariant(),
            ConcurrencyStamp = ids.Next(at).ToString(),
        });
        Write(rows, ids, new(SignInMessages.Invitation, $"{SignInMessages.Invitation}:{person.Id}:{person.SecurityStamp}", person.Id, Receiver.Person(person.Id), [])
        {
            Acts = [new(SignInWording.Open, $"/people/accept?person={person.Id}")],
            UselessAt = at + LinkTokens.InvitationLifetime,
        }, new(name, email), at, now: Instant.MaxValue);
        return person;
    }

    /// <summary>A letter as it stands now: gone where it was due, waiting where it was not; withdrawn where its cause ended before it was due.</summary>
    public static void Write(ScaleRows rows, ScaleIds ids, Letter letter, Addressee to, Instant at, Instant now, Instant? withdrawnAt = null)
    {
        var due = letter.DueAt ?? at;
        var withdrawn = withdrawnAt < due;
        var state = withdrawn ? MessageState.Withdrawn : due < now ? MessageState.Sent : MessageState.Waiting;
        rows.Add(new Message
        {
            Id = ids.Next(at),
            Key = letter.Key,
            AboutId = letter.About,
            Kind = letter.Kind,
            Receiver = letter.To.Kind,
            ReceiverId = letter.To.Id,
            ToName = to.Name,
            ToAddress = to.Email,
            Content = LetterContent.Of(letter),
            Proof = letter.To.Kind is ReceiverKind.Pupil && LetterCauses.Proofs.Contains(letter.Kind),
            WrittenAt = at,
            DueAt = due,
            UselessAt = letter.UselessAt,
            State = state,
            Tries = state is MessageState.Sent ? 1 : 0,
            ClosedAt = state switch
            {
                MessageState.Withdrawn => withdrawnAt,
                MessageState.Sent => due + UntilSent,
                _ => null,
            },
        });
    }
}
