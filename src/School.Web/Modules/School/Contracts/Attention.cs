using NodaTime;

namespace School.Web.Modules.School.Contracts;

/// <summary>A heading of the list, and what its button does.</summary>
/// <param name="Rank">Its place in the list: what does the most harm while nobody looks comes first.</param>
/// <param name="Words">The heading.</param>
/// <param name="Act">What the button of each of its items says.</param>
internal sealed record AttentionHeading(int Rank, string Words, string Act)
{
    /// <summary>For the papers of everybody and everything but pupils.</summary>
    public static readonly AttentionHeading Papers = new(30, "Papers that run out", "Enter the new date");

    /// <summary>For what must be known of somebody before their first lesson.</summary>
    public static readonly AttentionHeading FirstLesson = new(37, "Still to be asked before a first lesson", "Enter it");
}

/// <summary>Something that somebody in the office should look at.</summary>
/// <param name="Kind">A stable word such as <c>car_paper</c>.</param>
/// <param name="Heading">Where it stands.</param>
/// <param name="Sentence">What it is and what to do.</param>
/// <param name="Href">The page where it is put right.</param>
/// <param name="Since">The day it runs out, the day of the lesson, or the day on which the message was given up.</param>
internal sealed record AttentionItem(string Kind, AttentionHeading Heading, string Sentence, string Href, LocalDate Since)
{
    /// <summary>How soon somebody should look; by its day where nothing is said.</summary>
    public AttentionUrgency? Urgency { get; init; }

    /// <summary>What it comes of together with others; null where it stands for itself.</summary>
    public AttentionCause? Cause { get; init; }

    /// <summary>What would cure it at once, such as finding cover; null where nothing but <see cref="Href"/> does.</summary>
    public AttentionCure? Cure { get; init; }
}

/// <summary>How soon somebody should look at something.</summary>
internal enum AttentionUrgency
{
    /// <summary>It bites today, or has begun to.</summary>
    Now,

    /// <summary>It bites within two days, or is best done before the day is over.</summary>
    Today,

    Soon,
}

/// <summary>One thing that makes several need attention, such as a time off that several lessons lie in.</summary>
/// <param name="Key">What tells it from other causes.</param>
/// <param name="Words">What it is and what it does, for so many.</param>
internal sealed record AttentionCause(string Key, Func<int, string> Words);

/// <summary>What a cure is called, and where it is.</summary>
internal sealed record AttentionCure(string Act, string Href);

/// <summary>Filled by each module that knows of things to look at; worked out afresh each time, so that what is put right is gone.</summary>
internal interface INeedAttention
{
    /// <summary>In the order in which they stand under their heading.</summary>
    Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel);
}
