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
    private static readonly Guid Id = new("01900000-0000-7000-8000-000000000001");

    [Fact]
    public void The_same_letter_is_worded_once_and_any_other_anew()
    {
        using var known = new KnownSubjects();
        Assert.Null(known.Find(Letter(), Head));
        Assert.Equal("first", known.Keep(Letter(), Head, "first"));
        Assert.Equal("first", known.Find(Letter(), Head with { }));

        (ListedMessage Letter, Letterhead Head)[] others =
        [
            (Letter(id: Guid.Empty), Head), (Letter(name: "Wren Castellan"), Head), (Letter(speaks: false), Head),
            (Letter(due: Due + Duration.FromMinutes(1)), Head), (Letter(), Head with { TwelveHourClock = true }), (Letter(), Head with { Edition = 2 }),
        ];
        Assert.All(others, one => Assert.Null(known.Find(one.Letter, one.Head)));
    }

    private static ListedMessage Letter(Guid? id = null, string name = "Tamsin Oakley", Instant? due = null, bool speaks = true) => new(
        new()
        {
            Id = id ?? Id,
            Key = "",
            AboutId = Id,
            Kind = "lesson_booked",
            Receiver = ReceiverKind.Pupil,
            ReceiverId = Id,
            ToName = name,
            ToAddress = "pupil@larkfield.example",
            Content = null,
            WrittenAt = Due,
            DueAt = due ?? Due,
        },
        speaks);
}
