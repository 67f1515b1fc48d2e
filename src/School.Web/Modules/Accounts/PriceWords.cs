using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Cars.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>For what a price is, in words.</summary>
internal static class PriceWords
{
    private static readonly string[] Days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

    /// <summary>"Motorway lessons of 2 h, automatic, Sat and Sun".</summary>
    public static string Of(PriceRow price, string? instructor = null)
    {
        var kind = price.Kind is { } named ? KindRule.Shipped.First(rule => rule.Kind == named).Name : "Lesson";
        return string.Join(", ", new[]
        {
            $"{kind} of {ScreenWords.Length(price.Minutes)}{(price.OnlyThisLength ? " exactly" : "")}",
            price.Gearbox?.Words(),
            price.InstructorId is null ? null : $"with {instructor ?? "one instructor"}",
            Hours(price),
        }.OfType<string>());
    }

    private static string? Hours(PriceRow price)
    {
        if (price.Days is not { } days)
        {
            return null;
        }

        var named = days == Core.Accounts.PriceHours.AllDays ? "every day" : string.Join(", ", Days.Where((_, day) => (days & (1 << day)) != 0));
        var (from, until) = (price.From!.Value, price.Until!.Value);
        return (from, until) switch
        {
            _ when from == LocalTime.Midnight && until == LocalTime.Midnight => named,
            _ when until == LocalTime.Midnight => $"{named} from {ScreenWords.Time(from)}",
            _ when from == LocalTime.Midnight => $"{named} before {ScreenWords.Time(until)}",
            _ => $"{named} {ScreenWords.Times(from, until)}",
        };
    }
}
