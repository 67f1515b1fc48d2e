using NodaTime;
using School.Core.Cars;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Cars;

/// <summary>What is missing, in words.</summary>
internal static class AllocationWords
{
    /// <summary>"Tuesday 9 June, 11:00–12:00: 2 automatics needed (Marigold Ashby 10:00–12:00, Bram Holt 11:00–13:00), 1 on the road and in date."</summary>
    public static string Of(AllocationShortage shortage, IReadOnlyDictionary<Guid, string> names, SchoolFacts school)
    {
        var kind = (shortage.Gearbox, shortage.Needed) switch
        {
            (Gearbox.Manual, 1) => "manual",
            (Gearbox.Manual, _) => "manuals",
            (_, 1) => "automatic",
            _ => "automatics",
        };
        var who = string.Join(", ", shortage.For.Select(line => $"{names[line.InstructorId]} {Times(line.Teaching, school)}"));
        return $"{ScreenWords.Day(shortage.Date)}, {Times(shortage.Hours, school)}: {shortage.Needed} {kind}{(shortage.DualControls ? " with dual controls" : "")} needed ({who}), "
            + $"{(shortage.InDate == 0 ? "none" : shortage.InDate)} on the road and in date.{(shortage.AtOnce ? "" : " Not all at one time, but a car is given for the whole day.")}";
    }

    public static string Times(Interval during, SchoolFacts school) => ScreenWords.Times(
        during.Start.InZone(school.Zone).TimeOfDay, during.End.InZone(school.Zone).TimeOfDay, school.TwelveHourClock);
}
