using System.ComponentModel.DataAnnotations;
using System.Globalization;
using System.Reflection;

namespace School.Web.Platform;

/// <summary>A section of the configuration as a type that says the bounds of its numbers (<see cref="RangeAttribute"/>).</summary>
internal static class CheckedSettings
{
    /// <exception cref="CannotStartException">A number is none or lies outside its bounds; every such one is told.</exception>
    public static T Read<T>(IConfiguration configuration, string name)
        where T : class, new()
    {
        var section = configuration.GetSection(name);
        string[] wrong = [.. typeof(T).GetProperties().Where(one => !IsWithin(section[one.Name], one)).Select(one => Say(section, one))];
        return wrong.Length == 0 ? section.Get<T>() ?? new() : throw new CannotStartException(string.Join(' ', wrong));
    }

    private static bool IsWithin(string? typed, PropertyInfo of)
    {
        if (typed is null || of.GetCustomAttribute<RangeAttribute>() is not { } bounds)
        {
            return true;
        }

        return double.TryParse(typed, NumberStyles.Float, CultureInfo.InvariantCulture, out var number)
            && (of.PropertyType == typeof(double) || double.IsInteger(number))
            && number >= Number(bounds.Minimum) && number <= Number(bounds.Maximum);
    }

    private static string Say(IConfigurationSection section, PropertyInfo of)
    {
        var bounds = of.GetCustomAttribute<RangeAttribute>()!;
        return string.Create(
            CultureInfo.InvariantCulture,
            $"{section.Path}:{of.Name} is “{section[of.Name]}”. Give a {(of.PropertyType == typeof(double) ? "" : "whole ")}number from {Number(bounds.Minimum)} to {Number(bounds.Maximum)}.");
    }

    private static double Number(object bound) => Convert.ToDouble(bound, CultureInfo.InvariantCulture);
}
