using System.Globalization;

namespace School.Web.Platform.Layout.Strip;

/// <summary>
/// A way through something, drawn as a strip of road: an instructor's day, or, shortened, a pupil's syllabus.
/// Draw it with <c>&lt;partial name="_RoadStrip" model="…" /&gt;</c>.
/// </summary>
/// <param name="Label">What the strip shows, for people who hear it.</param>
/// <param name="Short">One line per stop, no cards.</param>
/// <param name="MilesBefore">Where the strip goes on from another: the miles up to there.</param>
internal sealed record RoadStrip(string Label, IReadOnlyList<RoadPart> Parts, bool Short = false, decimal MilesBefore = 0)
{
    /// <summary>The strip as two, which follow one another.</summary>
    public (RoadStrip Before, RoadStrip After) CutAt(int part, string before) => (
        this with { Label = before, Parts = [.. Parts.Take(part)] },
        this with { Parts = [.. Parts.Skip(part)], MilesBefore = MilesBefore + Parts.Take(part).OfType<RoadLeg>().Sum(leg => leg.Miles) });
}

internal abstract record RoadPart;

/// <summary>Where the road begins or ends: home, or the school.</summary>
internal sealed record RoadHome(string Words, string? Time = null) : RoadPart;

/// <summary>The name of a stretch: what the stops after it have in common.</summary>
internal sealed record RoadStretch(string Words) : RoadPart;

/// <summary>A drive.</summary>
/// <param name="Words">From where to where, such as “To Quarry Rise”.</param>
/// <param name="SpareMinutes">Minutes left over before the next stop; negative when the drive makes it late.</param>
internal sealed record RoadLeg(string Words, int Minutes, decimal Miles, int SpareMinutes = 0) : RoadPart
{
    public int LateMinutes => Math.Max(0, -SpareMinutes);
}

/// <summary>A stretch without a lesson.</summary>
internal sealed record RoadGap(GapKind Kind, string Words, int? Minutes = null, IReadOnlyList<RoadAction>? Actions = null) : RoadPart;

internal enum GapKind
{
    /// <summary>Time that could be taught.</summary>
    Free,

    /// <summary>A rest or a meal.</summary>
    Rest,

    /// <summary>Time off, the garage, an imported engagement.</summary>
    Away,

    /// <summary>The next stop is driven to in another car.</summary>
    Change,
}

/// <summary>A lesson, or in the short form a skill. The words are ready to show; the page formats its own times.</summary>
internal sealed record RoadStop(string Who, StopState State) : RoadPart
{
    /// <summary>Start and end, such as “08:30–10:00”.</summary>
    public string? Times { get; init; }

    /// <summary>Such as “90 min”.</summary>
    public string? Length { get; init; }

    /// <summary>Where the name leads.</summary>
    public string? Href { get; init; }

    /// <summary>The word before <see cref="Need"/>, such as “Next” or “Check”.</summary>
    public string NeedLabel { get; init; } = "Next";

    public string? Need { get; init; }

    /// <summary>What comes before anything else there.</summary>
    public string? First { get; init; }

    public string? LastNote { get; init; }

    /// <summary>From and to, in a sentence.</summary>
    public string? Where { get; init; }

    /// <summary>The number to ring, for paper: on a screen it is an action.</summary>
    public string? Phone { get; init; }

    /// <summary>In the short form: how far the stop is known, drawn as its marker and said in a word.</summary>
    public StopLevel? Level { get; init; }

    public IReadOnlyList<string> Tags { get; init; } = [];

    public IReadOnlyList<RoadAction> Actions { get; init; } = [];
}

/// <param name="Fifths">Filled part of the marker, 0 to 5.</param>
/// <param name="Word">The same said.</param>
internal sealed record StopLevel(int Fifths, string Word)
{
    private const double Radius = 6.5;

    /// <summary>The filled part of the marker, clockwise from the top.</summary>
    public string Path
    {
        get
        {
            var angle = 2 * Math.PI * Fifths / 5;
            return Fifths switch
            {
                <= 0 => "",
                >= 5 => string.Create(CultureInfo.InvariantCulture, $"M0 -{Radius}a{Radius} {Radius} 0 1 1 0 {2 * Radius}a{Radius} {Radius} 0 1 1 0 -{2 * Radius}z"),
                _ => string.Create(
                    CultureInfo.InvariantCulture,
                    $"M0 0V-{Radius}A{Radius} {Radius} 0 {(Fifths > 2 ? 1 : 0)} 1 {Radius * Math.Sin(angle):0.##} {-Radius * Math.Cos(angle):0.##}z"),
            };
        }
    }
}

internal enum StopState
{
    Ahead,
    Now,
    Taught,
    Missed,
}

/// <summary>A link at a stop. At most one per stop is primary.</summary>
internal sealed record RoadAction(string Href, string Words, bool Primary = false);
