using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Pupils;

namespace School.Web.Demo;

/// <summary>The licences of the invented pupils, as their story asks: most are learners, three are not.</summary>
internal static class DemoPapers
{
    /// <summary>Who holds a full licence and has not driven for years.</summary>
    public const int Refresher = 22;

    private const int Upgrader = 19;
    private const int Foreign = 11;
    private const int EndsSoon = 17;

    /// <summary>Whose theory pass ends within days.</summary>
    public const int TheoryLongAgo = 16;

    /// <summary>Whether the pupil is a grown-up who drove before.</summary>
    private static bool DroveBefore(int n) => n is Refresher or Upgrader or Foreign;

    /// <summary>Somebody who comes from automatic to manual, or back to driving, takes no theory test.</summary>
    public static bool NeedsTheory(int n) => n is not (Refresher or Upgrader);

    public static LocalDate BornOn(int n, LocalDate today) => today.PlusYears(DroveBefore(n) || n == EndsSoon ? -31 : -17).PlusDays(-120 - (n * 53));

    public static LicenceInput LicenceOf(int n, LocalDate today)
    {
        var (kind, from, until) = n switch
        {
            Refresher => (LicenceKind.FullManual, today.PlusYears(-9), today.PlusYears(1)),
            Upgrader => (LicenceKind.FullAutomatic, today.PlusYears(-4), today.PlusYears(6)),
            Foreign => (LicenceKind.Foreign, today.PlusYears(-8), today.PlusYears(2)),
            EndsSoon => (LicenceKind.Provisional, today.PlusDays(50).PlusYears(-10), today.PlusDays(50)),
            TheoryLongAgo => (LicenceKind.Provisional, today.PlusYears(-2).PlusDays(-60), today.PlusYears(8).PlusDays(-61)),
            _ => (LicenceKind.Provisional, today.PlusYears(-1).PlusDays(-12 * n), today.PlusYears(9).PlusDays((-12 * n) - 1)),
        };
        return new()
        {
            Kind = kind,
            ValidFrom = from,
            ValidUntil = until,
            ResidentSince = n == Foreign ? today.PlusMonths(-8) : null,
            // For the test, and for the time after the twelve months.
            Provisional = n == Foreign ? new() { ValidFrom = today.PlusMonths(-8), ValidUntil = today.PlusMonths(-8).PlusYears(10).PlusDays(-1) } : null,
            Conditions = (n % 9 == 4 ? ["01"] : Array.Empty<string>()).Concat(n == Upgrader ? ["78"] : Array.Empty<string>()).ToList(),
        };
    }

    public static string? NeedOf(int n) => n switch
    {
        Refresher => "Nine years without a car: dual carriageways and motorways again.",
        Upgrader => "Drives an automatic every day: clutch and gears.",
        Foreign => "Drove on the right until this year: roundabouts and mirrors.",
        _ => null,
    };
}
