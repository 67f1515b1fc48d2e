using School.Core.Cars;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Cars.Allocation;

/// <summary>What is missing, in words.</summary>
internal static class AllocationWords
{
    /// <summary>"2 automatics needed on Tuesday 9 June (Marigold Ashby 10:00–12:00, Bram Holt 11:00–13:00), 1 on the road and in date."</summary>
    public static string Of(AllocationShortage shortage, IReadOnlyDictionary<Guid, string> names, SchoolFacts school)
    {
        var kind = (shortage.Gearbox, shortage.Needed) switch
        {
            (Gearbox.Manual, 1) => "manual",
            (Gearbox.Manual, _) => "manuals",
            (_, 1) => "automatic",
            _ => "automatics",
        };
        var who = string.Join(", ", shortage.For.Select(line => $"{names[line.InstructorId]} {Times(line, school)}"));
        return $"{shortage.Needed} {kind}{(shortage.DualControls ? " with dual controls" : "")} needed on {ScreenWords.Day(shortage.Date)} ({who}), "
            + $"{(shortage.InDate == 0 ? "none" : shortage.InDate)} on the road and in date.";
    }

    public static string Times(AllocationLine line, SchoolFacts school) => ScreenWords.Times(
        line.Teaching.Start.InZone(school.Zone).TimeOfDay, line.Teaching.End.InZone(school.Zone).TimeOfDay, school.TwelveHourClock);
}
