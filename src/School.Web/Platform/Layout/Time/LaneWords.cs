using NodaTime;

namespace School.Web.Platform.Layout.Time;

/// <summary>What a lane says in one line, for phones and for ears: now, next, what is wrong, what is free.</summary>
internal static class LaneWords
{
    private const int MostNamed = 6;

    public static IReadOnlyList<LaneWord> Of(TimePicture picture, TimeLane lane, DayClock clock)
    {
        var here = lane.Plates.Where(plate => clock.Of(plate.During) is not null).OrderBy(plate => plate.During.Start).ToList();
        var said = new List<LaneWord>();
        foreach (var away in lane.Away.Where(away => clock.Of(away.During) is not null))
        {
            said.Add(new($"Off {Within(picture, clock, away.During)}{(away.Reason.Trim() is { Length: > 0 } why ? $", {PlateText.Isolated(why)}" : "")}."));
        }

        foreach (var plate in here.Where(plate => plate.State is PlateState.Now && plate.Fault is null))
        {
            said.Add(new("Now", WordWeight.Strong));
            said.Add(new($"{PlateText.Isolated(plate.Who)} until {picture.Time(plate.During.End)}."));
        }

        said.AddRange(here.Where(IsWrong).Select(plate => new LaneWord(
            $"{picture.Time(plate.During.Start)} {PlateText.Isolated(plate.Who)}: {plate.Fault ?? plate.Word}.", WordWeight.Heed)));
        var quiet = here.Where(plate => !IsWrong(plate) && plate.State is not PlateState.Now).ToList();
        var today = clock.Holds(picture.Now);
        said.AddRange(Ahead(picture, today ? quiet.FindAll(plate => plate.During.Start > picture.Now) : quiet, today));
        said.AddRange(lane.Openings.Where(opening => clock.Of(opening.During) is not null).Select(opening =>
            new LaneWord($"Free {picture.Times(opening.During)}: room for {string.Join(", ", opening.Lengths)}.")));
        return said.Count > 0 ? said
            : here.Count > 0 ? [new("Nothing more today.")]
            : [new(lane.Working.Count == 0 ? "Not working." : "Nothing booked.")];
    }

    /// <summary>“all day”, “until 12:00”, “from 13:00”, “13:00–17:00”: what of a period lies on a date.</summary>
    public static string Within(TimePicture picture, DayClock clock, Interval during)
    {
        var (before, after) = (during.Start <= clock.Start, clock.At(during.End) >= clock.Length);
        return before && after ? "all day"
            : before ? $"until {picture.Time(during.End)}"
            : after ? $"from {picture.Time(during.Start)}"
            : picture.Times(during);
    }

    private static bool IsWrong(TimePlate plate) => plate.Fault is not null || plate.State is PlateState.Open or PlateState.Cannot or PlateState.Missed;

    private static IEnumerable<LaneWord> Ahead(TimePicture picture, List<TimePlate> plates, bool today)
    {
        if (plates.Count == 0)
        {
            yield break;
        }

        if (today)
        {
            var next = plates[0];
            yield return new($"Next {picture.Time(next.During.Start)}", WordWeight.Strong);
            yield return new(next.Where is null ? $"{PlateText.Isolated(next.Who)}." : $"{PlateText.Isolated(next.Who)}, {PlateText.Isolated(next.Where)}.");
        }

        var rest = plates.Skip(today ? 1 : 0).ToList();
        if (rest.Count > 0)
        {
            var more = rest.Count > MostNamed ? $" and {rest.Count - MostNamed} more" : "";
            yield return new($"{(today ? "Then " : "")}{string.Join(", ", rest.Take(MostNamed).Select(plate => $"{picture.Time(plate.During.Start)} {PlateText.Isolated(plate.Who)}"))}{more}.");
        }
    }
}
