using Microsoft.AspNetCore.Mvc.Rendering;
using School.Core.Pupils;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils;

/// <summary>A licence on a page.</summary>
internal static class LicenceWords
{
    public static IEnumerable<SelectListItem> Choices =>
        Enum.GetValues<LicenceKind>().Select(kind => new SelectListItem(kind.Choice(), kind.ToString()));

    public static string Words(this LicenceKind kind) => kind switch
    {
        LicenceKind.Provisional => "provisional",
        LicenceKind.FullManual => "full",
        LicenceKind.FullAutomatic => "full, automatics only",
        LicenceKind.Foreign => "foreign",
        LicenceKind.Disqualified => "disqualified",
    };

    /// <summary>"provisional, from 4 May 2024, until 3 May 2034; 01 (glasses or contact lenses)".</summary>
    public static string Words(this Licence licence)
    {
        var parts = new List<string> { licence.DisqualifiedUntil is { } disqualified ? $"{licence.Kind.Words()} until {ScreenWords.DayAndYear(disqualified)}" : licence.Kind.Words() };
        if (licence.ValidFrom is { } from)
        {
            parts.Add($"from {ScreenWords.DayAndYear(from)}");
        }

        if (licence.ValidUntil is { } until)
        {
            parts.Add($"until {ScreenWords.DayAndYear(until)}");
        }

        if (licence.ResidentSince is { } resident)
        {
            parts.Add($"living here since {ScreenWords.DayAndYear(resident)}");
        }

        if (licence.FromEea)
        {
            parts.Add("EU or EEA");
        }

        var codes = licence.Conditions is { Count: > 0 } conditions ? $"; {string.Join(", ", conditions.Select(LicenceCodes.InWords))}" : "";
        var beside = licence.Beside is { } provisional
            ? $"; besides a British provisional, from {ScreenWords.DayAndYear(provisional.ValidFrom)}{(provisional.ValidUntil is { } end ? $", until {ScreenWords.DayAndYear(end)}" : "")}"
            : "";
        return string.Join(", ", parts) + codes + beside;
    }

    private static string Choice(this LicenceKind kind) => kind switch
    {
        LicenceKind.Provisional => "Provisional",
        LicenceKind.FullManual => "Full, manual and automatic",
        LicenceKind.FullAutomatic => "Full, automatics only (code 78)",
        LicenceKind.Foreign => "Foreign",
        LicenceKind.Disqualified => "Disqualified",
    };
}
