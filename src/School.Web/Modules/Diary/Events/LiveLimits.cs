using System.ComponentModel.DataAnnotations;

namespace School.Web.Modules.Diary.Events;

/// <summary>How much of a node may go into streams of events.</summary>
internal sealed class LiveLimits
{
    public const string Section = "School:Live";

    /// <summary>At a time, of one person: an open page each.</summary>
    [Range(1, 10_000)]
    public int StreamsEach { get; init; } = 12;

    /// <summary>At a time, of everybody.</summary>
    [Range(1, 100_000)]
    public int Streams { get; init; } = 1000;

    /// <summary>Events that wait for a slow reader; one more, and they are told to read anew instead.</summary>
    [Range(1, 10_000)]
    public int Waiting { get; init; } = 64;

    /// <summary>Events that are remembered for who comes back.</summary>
    [Range(1, 100_000)]
    public int Remembered { get; init; } = 2000;

    /// <summary>Something is said at least so often, so that everything in between knows the stream for alive.</summary>
    [Range(0.05, 60)]
    public double SaySeconds { get; init; } = 15;

    /// <summary>A reader who takes nothing for so long is left.</summary>
    [Range(0.05, 60)]
    public double WriteSeconds { get; init; } = 10;

    /// <summary>How often it is asked anew whether the session lasts and what they may.</summary>
    [Range(0.05, 60)]
    public double LookSeconds { get; init; } = 45;

    /// <summary>A stream ends after this; who still reads comes back and goes on where they were.</summary>
    [Range(0.05, 3600)]
    public double LongestSeconds { get; init; } = 900;

    /// <summary>So long a node goes on listening without a stream, for the next page.</summary>
    [Range(0, 3600)]
    public double LingerSeconds { get; init; } = 60;
}
