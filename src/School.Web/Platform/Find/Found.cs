using School.Web.Platform.Access;

namespace School.Web.Platform.Find;

/// <summary>What there is to find, in the order in which it is shown among equals.</summary>
internal enum FoundKind
{
    Pupil,
    Lesson,
    Test,
    Contact,
    Instructor,
    Car,
    Place,
    Message,
    Page,
}

/// <summary>How well something fits what was typed.</summary>
internal enum Fit
{
    /// <summary>It is what was typed, or has that number or address.</summary>
    Whole,

    /// <summary>It begins with what was typed.</summary>
    Start,

    /// <summary>Each word that was typed begins one of its words.</summary>
    Words,

    /// <summary>So it is but for one slip in a word.</summary>
    Similar,
}

/// <summary>Something that was found.</summary>
/// <param name="Kind">What it is.</param>
/// <param name="Id">Of its row; null for a page.</param>
/// <param name="Label">What it is called.</param>
/// <param name="Detail">What tells it from another of that name, as far as the viewer may see it; may be empty.</param>
/// <param name="Page">Where it is looked at.</param>
/// <param name="Fit">How well it fits.</param>
internal sealed record Found(FoundKind Kind, Guid? Id, string Label, string Detail, string Page, Fit Fit);

/// <summary>Finds one kind of thing; filled by the module whose things they are, and kept there to what the viewer may see.</summary>
internal interface IFind
{
    FoundKind Kind { get; }

    /// <summary>At most so many, the best first; what is more recent first among equals.</summary>
    Task<IReadOnlyList<Found>> FindAsync(Viewer viewer, Question question, int most, CancellationToken cancel);
}
