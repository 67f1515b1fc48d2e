using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary;

/// <summary>Small phrases of the lesson pages.</summary>
internal static class Words
{
    public static string Count(int count, string thing) => count == 1 ? $"1 {thing}" : $"{count} {thing}s";

    /// <summary>"Tuesday 3 to Monday 9 March", "Friday 27 March to Thursday 2 April".</summary>
    public static string Span(LocalDate from, LocalDate to) =>
        from == to ? ScreenWords.Day(from)
        : from.Month == to.Month ? $"{from.DayOfWeek} {from.Day} to {ScreenWords.Day(to)}"
        : $"{ScreenWords.Day(from)} to {ScreenWords.Day(to)}";

    /// <summary>The address, with the place's short name before it where that says something more.</summary>
    public static string Where(Place place) =>
        place.Address.Length == 0 || place.Address.Contains(place.Label, StringComparison.OrdinalIgnoreCase) ? place.Written : $"{place.Label}, {place.Written}";

    /// <summary>What becomes of a letter to a pupil: "The details are on their way to tamsin@larkfield.example."</summary>
    public static string OnTheWay(string what, PupilCard to) =>
        to.HasEmail ? $"{what} on {(what.EndsWith(" is", StringComparison.Ordinal) ? "its" : "their")} way to {(to.NameOnly ? to.Name : to.Email)}."
            : $"{to.Name} has no e-mail address: tell them yourself{(to.Phone.Length > 0 ? $", on {Phone.Display(to.Phone)}" : "")}.";

    /// <summary>"from Mill Lane", "from Mill Lane to Station Road".</summary>
    public static string Route(Place pickUp, Place? dropOff) => !pickUp.IsKnown ? ""
        : dropOff is null || dropOff == pickUp ? $"from {pickUp.Label}" : $"from {pickUp.Label} to {dropOff.Label}";

    /// <summary>A place of a lesson to be, as somebody who sees the pupil by name reads it: of the usual one no more than that.</summary>
    public static Place Shown(Place place, PupilCard pupil) =>
        pupil.NameOnly && place.IsKnown && place.Label == pupil.PickUp.Label && place.Postcode == pupil.PickUp.Postcode ? place with { Label = "the usual place", Address = "", Postcode = "" } : place;

    /// <summary>What a place that is still to be found means for the times of a lesson; null where both ends are found.</summary>
    public static string? StillToFind(Place pickUp, Place dropOff) =>
        new[] { pickUp, dropOff }.FirstOrDefault(place => place is { IsKnown: true, IsFound: false }) is { } open
            ? $"Where {open.Label} is, is still to be found. Lessons are reckoned from the middle of {(open.Postcode.Length > 0 ? open.Postcode.Split(' ')[0] : "its postcode district")}, and no drive is told." : null;

    /// <summary>The last digits of an id: enough to tell two lessons apart on the phone.</summary>
    public static string Reference(Guid id) => id.ToString("N")[^6..].ToUpperInvariant();
}
