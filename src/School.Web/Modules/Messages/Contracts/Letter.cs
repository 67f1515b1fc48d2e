using NodaTime;

namespace School.Web.Modules.Messages.Contracts;

/// <summary>
/// A letter as data: to whom, of what kind, about what, the facts and what can be done. Words are made of it each time it is
/// shown or sent, by the wording of its kind; finished sentences stand in it only where a person typed them.
/// </summary>
/// <param name="Kind">What sort of letter it is; a wording is registered for each.</param>
/// <param name="Key">Natural key: what it says about which version of what, to whom, so that it is written once.</param>
/// <param name="About">The lesson, test day, offer or person it is about; withdrawing goes by it.</param>
/// <param name="To">Who gets it.</param>
/// <param name="Facts">What there is to say, in the order in which it is told.</param>
internal sealed record Letter(string Kind, string Key, Guid About, Receiver To, IReadOnlyList<Fact> Facts)
{
    /// <summary>What the reader can do, a link each.</summary>
    public IReadOnlyList<Act> Acts { get; init; } = [];

    /// <summary>When it goes; now when null.</summary>
    public Instant? DueAt { get; init; }

    /// <summary>Not sent at or after this moment: it would speak of something past.</summary>
    public Instant? UselessAt { get; init; }
}

internal enum ReceiverKind
{
    /// <summary>Somebody who signs in, or is invited to.</summary>
    Person,

    Pupil,

    Instructor,

    /// <summary>Somebody beside a pupil, who gets copies of the pupil's letters.</summary>
    Contact,
}

/// <summary>Who gets a letter; name and address are looked up when it is written and again when it goes.</summary>
internal sealed record Receiver(ReceiverKind Kind, Guid Id)
{
    public static Receiver Person(Guid id) => new(ReceiverKind.Person, id);

    public static Receiver Pupil(Guid id) => new(ReceiverKind.Pupil, id);

    public static Receiver Instructor(Guid id) => new(ReceiverKind.Instructor, id);

    public static Receiver Contact(Guid id) => new(ReceiverKind.Contact, id);
}

/// <summary>One thing that a letter tells: a text, a time, a day or a number, by its name. A name may come more than once.</summary>
internal sealed record Fact(string Name)
{
    public string? Text { get; init; }

    public Instant? From { get; init; }

    public Instant? Until { get; init; }

    public LocalDate? Day { get; init; }

    public int? Number { get; init; }

    /// <summary>What a thing that is told as one line is made of.</summary>
    public IReadOnlyList<Fact>? Parts { get; init; }

    public static Fact Of(string name, string text) => new(name) { Text = text };

    public static Fact Of(string name, Interval time) => new(name) { From = time.Start, Until = time.End };

    public static Fact Of(string name, Instant moment) => new(name) { From = moment };

    public static Fact Of(string name, LocalDate day) => new(name) { Day = day };

    public static Fact Of(string name, int number) => new(name) { Number = number };
}

/// <summary>Something that the reader can do, at an address of the service.</summary>
/// <param name="Code">What it is; the wording puts it into words.</param>
/// <param name="Path">Path and query below the public address.</param>
internal sealed record Act(string Code, string Path);
