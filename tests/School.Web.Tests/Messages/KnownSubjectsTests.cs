using NodaTime;
using School.Web.Modules.Messages;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Messages.Writing;

namespace School.Web.Tests.Messages;

/// <summary>A subject is worded once while everything that it is made of stays, and anew as soon as any of it does not.</summary>
public sealed class KnownSubjectsTests
{
    private static readonly Letterhead Head = new("Larkfield Driving School", "01632 960100", "office@larkfield.example", "Europe/London", false, "england-and-wales", "", "https://larkfield.example", 1);
    private static readonly Instant Due = Instant.FromUtc(2026, 3, 5, 10, 0);
    private static readonly Guid About = new("01900000-0000-7000-8000-000000000001");

    [Fact]
    public void The_same_letter_is_worded_once_and_any_other_anew()
    {
        using var known = new KnownSubjects();
        Assert.Equal("first", known.Of(Letter(), Head, () => "first"));
        Assert.Equal("first", known.Of(Letter(), Head with { }, () => "again"));

        (Message Letter, Letterhead Head)[] others =
        [
            (Letter(content: "[\"pupil\", \"Wren\", []]"), Head), (Letter(name: "Wren Castellan"), Head), (Letter(kind: "lesson_moved"), Head), (Letter(receiver: ReceiverKind.Instructor), Head),
            (Letter(due: Due + Duration.FromMinutes(1)), Head), (Letter(about: Guid.Empty), Head), (Letter(), Head with { TwelveHourClock = true }), (Letter(), Head with { Edition = 2 }),
        ];
        foreach (var (one, n) in others.Select((one, n) => (one, n)))
        {
            Assert.Equal($"other {n}", known.Of(one.Letter, one.Head, () => $"other {n}"));
        }
    }

    private static Message Letter(
        string content = "[\"pupil\", \"Tamsin Oakley\", []]", string name = "Tamsin Oakley", string kind = "lesson_booked", ReceiverKind receiver = ReceiverKind.Pupil, Instant? due = null, Guid? about = null) => new()
        {
            Key = "booked",
            AboutId = about ?? About,
            Kind = kind,
            Receiver = receiver,
            ReceiverId = About,
            ToName = name,
            ToAddress = "pupil@larkfield.example",
            Content = content,
            WrittenAt = Due,
            DueAt = due ?? Due,
        };
}
