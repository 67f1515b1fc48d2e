using School.Core.Travel;

namespace School.Web.Modules.Travel.Routing;

/// <summary>A place rounded to a ten-thousandth of a degree, eleven metres or less: near enough for a drive, and one question for neighbours.</summary>
internal readonly record struct Cell(long Number) : IComparable<Cell>
{
    private const double PerDegree = 10_000;
    private const long Columns = 3_600_001;
    private const long LatitudeSteps = 900_000;
    private const long LongitudeSteps = 1_800_000;

    public static Cell Of(Coordinates at) => new(
        (((long)Math.Round(at.Latitude * PerDegree) + LatitudeSteps) * Columns) + (long)Math.Round(at.Longitude * PerDegree) + LongitudeSteps);

    public Coordinates At() => new(((Number / Columns) - LatitudeSteps) / PerDegree, ((Number % Columns) - LongitudeSteps) / PerDegree);

    public int CompareTo(Cell other) => Number.CompareTo(other.Number);
}
