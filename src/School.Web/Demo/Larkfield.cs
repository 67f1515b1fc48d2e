using System.Globalization;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Time;
using School.Core.Pupils;
using School.Core.Travel;
using School.Web.Modules.School.Contracts;

namespace School.Web.Demo;

/// <summary>Larkfield: an invented town, put down in the open sea so that it is nobody's, with invented streets and people.</summary>
internal static class Larkfield
{
    private const double MiddleLatitude = 53.62;
    private const double MiddleLongitude = 1.31;
    private const int NearStreets = 6;

    /// <summary>Streets with where they lie from the middle, in miles east and north.</summary>
    private static readonly (string Street, double East, double North)[] Streets =
    [
        ("Mill Lane", -1.1, 0.9), ("Quarry Rise", 1.4, 1.2), ("Harbour Street", 2.3, -0.6), ("Cobden Row", -0.3, -0.8), ("Tannery Close", 0.6, 0.2),
        ("Orchard Bank", -2.0, 0.1), ("Weavers Yard", 0.2, 0.9), ("Priory Gardens", -0.8, 1.9), ("Bellfounder Way", 1.0, -1.5), ("Sallow Drive", -1.6, -1.3),
        ("Kiln Road", 1.9, 0.4), ("Church Walk", -0.1, 0.3), ("Eastgate", 0.9, 0.6), ("Chapel Brow", -0.6, -1.7), ("Heron Way", 2.6, 0.9),
        ("Longmeadow", -2.4, -0.7), ("Ropewalk", 1.6, -0.9), ("Saddler's Croft", -1.3, 0.2), ("Foundry Lane", 0.4, -0.4), ("Beacon View", -0.4, 2.5),
        ("Marsh End", 2.9, -1.4), ("Willow Fold", -1.9, 1.4), ("Dyer's Street", 0.1, -0.2), ("Lime Avenue", -0.9, -0.4), ("Windmill Road", 1.2, 2.0),
        ("Copper Beech Close", -2.7, 0.9), ("Old Toll Road", 0.7, -2.2), ("Northfield Crescent", 0.3, 1.7), ("Sandpiper Court", 2.1, -1.7), ("Granary Wharf", 1.1, -0.3),
    ];

    private static readonly string[] Pupils =
    [
        "Tamsin Oakley", "Idris Bell", "Wren Castellan", "Marlo Fenn", "Ottilie Marsh", "Kit Aldous", "Saoirse Venn", "Bram Hollis", "Juno Pettifer", "Ezra Lamb",
        "Nia Thorne", "Caspian Rudd", "Elowen Strand", "Tobias Quill", "Priya Dunmore", "Hamish Crale", "Zofia Lindqvist", "Rafe Underhill", "Maeve Sorrel", "Anselm Pike",
        "Leila Farrow", "Corin Wexley", "Imogen Tarn", "Dov Ashdown", "Beatrix Holloway", "Amara Osei-Lark", "Fintan Grove", "Yara Beckwith", "Lorcan Tide", "Sunniva Rowe",
        "Piers Galloway-Reed", "Nell Harrower", "Omar Vale", "Isolde Crane", "Gethin Moss", "Tilda Barrow", "Jonah Speke", "Freya Winterbourne", "Aziz Calder", "Clementine Frost",
    ];

    private static readonly string[] Needs =
    [
        "Turning left and emerging; mirrors before signals.", "Roundabouts, prompted last time.", "Moving off on hills.", "Bay parking, both ways.",
        "Meeting traffic in narrow streets.", "Speed on country roads; ease off before the bend.", "Dual carriageway: joining and leaving.",
        "Sat nav drive with fewer prompts.", "Pulling up on the right.", "Mock test, then the weak two.", "Box junctions and lights in the middle of town.",
        "Clutch control in slow queues.", "Lane choice at the big roundabout.", "Observation at crossroads.",
    ];

    public static int PupilCount => Pupils.Length;

    public static string PupilName(int n) => Pupils[n];

    /// <summary>Any number of people, each under a name of their own up to the forty thousandth.</summary>
    public static string NameOf(int n)
    {
        var (one, other, round) = (Pupils[n % Pupils.Length], Pupils[((n / Pupils.Length) + n) % Pupils.Length], n / (Pupils.Length * Pupils.Length));
        var initial = round == 0 ? "" : $" {(char)('A' + ((round - 1) % 26))}.";
        return $"{one[..one.IndexOf(' ', StringComparison.Ordinal)]}{initial}{other[other.IndexOf(' ', StringComparison.Ordinal)..]}";
    }

    /// <summary>Nobody who learns in an automatic has anything to do with a clutch.</summary>
    public static string NeedOf(int n, Gearbox gearbox) => Needs[n % Needs.Length] is var need && gearbox == Gearbox.Automatic && need.Contains("Clutch", StringComparison.Ordinal)
        ? "Creeping in slow queues, on the brake alone." : need;

    public static bool IsPublicHoliday(LocalDate date) => BankHolidays.Of(Nation.EnglandAndWales, date.Year).Any(day => day.Date == date);

    /// <summary>A driver number in its form; the last two letters are invented, as they are computed by a method that is not published.</summary>
    public static string DriverNumberOf(string name, LocalDate born)
    {
        var surname = string.Concat(name[(name.LastIndexOf(' ') + 1)..].Where(char.IsAsciiLetter)).ToUpperInvariant().PadRight(5, '9')[..5];
        return string.Create(CultureInfo.InvariantCulture, $"{surname}{born.Year / 10 % 10}{born.Month:00}{born.Day:00}{born.Year % 10}{name[0]}99LK");
    }

    /// <summary>Some can come any time on weekdays, some mornings or evenings only; every fourth has said nothing.</summary>
    public static IReadOnlyList<AvailableTime> TimesOf(int n) => (n % 4) switch
    {
        0 or 2 => [.. Weekdays(8, 19)],
        1 => [.. Weekdays(8, 13), .. Weekdays(16, 19)],
        _ => [],
    };

    public static int StreetCount => Streets.Length;

    public static Place PlaceOf(int n)
    {
        var (street, east, north) = Streets[n % Streets.Length];
        return At(street, $"{3 + (n * 7 % 48)} {street}, Larkfield", PostcodeOf(n % Streets.Length), east + (0.04 * (n % 5)), north - (0.03 * (n % 4)));
    }

    /// <summary>Where a street has its middle, which is where its postcode lies.</summary>
    public static Place StreetOf(int n) => At(Streets[n].Street, $"{Streets[n].Street}, Larkfield", PostcodeOf(n), Streets[n].East, Streets[n].North);

    /// <summary>Of the postcode area LK, which is nobody's: LK1 in the middle, LK2 to the north, LK3 to the east, LK4 to the west and south.</summary>
    private static string PostcodeOf(int street)
    {
        const string Letters = "ABDEFGHJLNPQRSTUWXYZ";
        var (_, east, north) = Streets[street];
        var district = Math.Max(Math.Abs(east), Math.Abs(north)) < 1 ? 1 : north >= 0.9 ? 2 : east > 0 ? 3 : 4;
        return $"LK{district} {1 + (street % 5)}{Letters[street % Letters.Length]}{Letters[2 + (street / Letters.Length)]}";
    }

    /// <summary>One of the six streets that are nearest, so that an instructor has no long drives.</summary>
    public static Place PlaceNear(Coordinates at, int n)
    {
        var near = Enumerable.Range(0, Streets.Length).OrderBy(street => PlaceOf(street).At() is var there
            ? Math.Abs((there.Latitude - at.Latitude) * 69) + Math.Abs((there.Longitude - at.Longitude) * 41) : 0).Take(NearStreets).ToList();
        return PlaceOf(near[n % NearStreets] + (Streets.Length * (n / NearStreets)));
    }

    public static Place College => At("Larkfield College", "College Road, Larkfield", "LK2 9XA", -0.5, 1.1);

    public static Place School => At("Fernhill School", "Fernhill, Larkfield", "LK2 9XB", 1.7, 1.6);

    public static Place TestCentre => At("Northgate", "1 Northgate, Larkfield", "LK2 9XD", 0.2, 1.5);

    public static Place Station => At("Larkfield station", "Station Approach, Larkfield", "LK1 9XE", 0.35, -0.15);

    public static IReadOnlyList<DemoInstructor> Instructors { get; } =
    [
        new("Marigold Ashby", [Gearbox.Manual, Gearbox.Automatic], RegistrationKind.Approved, 29, "482915"),
        new("Edwin Thackeray-Moss", [Gearbox.Manual], RegistrationKind.Approved, 9, "397204"),
        new("Sable Kinnear", [Gearbox.Automatic], RegistrationKind.Approved, 17, "510338"),
        new("Joss Penhallow", [Gearbox.Manual], RegistrationKind.Trainee, 23, "T20617"),
    ];

    /// <summary>The two digits of a plate: the year from March, and 50 more from September (format of September 2001, from memory).</summary>
    public static string PlateAge(LocalDate registered) => (registered.Month switch
    {
        >= 3 and <= 8 => registered.Year % 100,
        >= 9 => (registered.Year % 100) + 50,
        _ => ((registered.Year - 1) % 100) + 50,
    }).ToString("00", CultureInfo.InvariantCulture);

    private static IEnumerable<AvailableTime> Weekdays(int from, int to) =>
        Enumerable.Range(1, 5).Select(day => new AvailableTime((IsoDayOfWeek)day, new(from, 0), new(to, 0)));

    private static Place At(string label, string address, string postcode, double milesEast, double milesNorth) => new()
    {
        Label = label,
        Address = address,
        Postcode = postcode,
        Latitude = Math.Round(MiddleLatitude + (milesNorth / 69.0), 5),
        Longitude = Math.Round(MiddleLongitude + (milesEast / 41.0), 5),
    };
}

internal sealed record DemoInstructor(string Name, IReadOnlyList<Gearbox> Teaches, RegistrationKind Registration, int Home, string Number);
