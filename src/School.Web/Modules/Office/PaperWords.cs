using System.Globalization;
using NodaTime;
using School.Core.Papers;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Office;

/// <summary>Papers on a page.</summary>
internal static class PaperWords
{
    private static readonly CultureInfo English = CultureInfo.GetCultureInfo("en-GB");

    public static string Words(this PaperHolder holder) => holder switch
    {
        PaperHolder.Pupil => "Pupils",
        PaperHolder.Instructor => "Instructors",
        PaperHolder.Car => "Cars",
    };

    public static string Words(this PaperKind kind) => kind switch
    {
        PaperKind.Licence => "Driving licence",
        PaperKind.ProvisionalLicence => "Provisional licence",
        PaperKind.DrivingRecord => "Driving record",
        PaperKind.Theory => "Theory certificate",
        PaperKind.Eyesight => "Eyesight check",
        PaperKind.Registration => "Registration",
        PaperKind.TraineeLicence => "Trainee licence",
        PaperKind.Mot => "MOT",
        PaperKind.Tax => "Vehicle tax",
        PaperKind.Insurance => "Insurance",
        PaperKind.Service => "Service",
    };

    /// <summary>A shape and a word, so that neither colour nor shape says it alone.</summary>
    public static string Words(this PaperState state) => state switch
    {
        PaperState.NotYetValid => "○ not yet valid",
        PaperState.Valid => "● in date",
        PaperState.EndsSoon => "▲ ends soon",
        PaperState.Ended => "■ ended",
        PaperState.LookAgain => "▲ look again",
    };

    /// <summary>“Ends in May 2027”.</summary>
    public static string Month(LocalDate until) => $"Ends in {until.ToString("MMMM uuuu", English)}";

    public static bool IsToHeed(this PaperState state) => state is PaperState.EndsSoon or PaperState.Ended or PaperState.LookAgain;

    /// <summary>What does not take place without it; null where nothing hangs on it.</summary>
    public static string? Words(this PaperStops stops) => stops switch
    {
        PaperStops.Nothing => null,
        PaperStops.Lesson => "no lesson",
        PaperStops.Test => "no test",
        PaperStops.Teaching => "no paid lessons",
        PaperStops.Car => "the car stays where it is",
    };

    /// <summary>“3 March 2025 to 2 March 2027”.</summary>
    public static string Days(this Paper paper) => (paper.From, paper.Until) switch
    {
        _ when paper is { IsVoid: true, VoidUntil: { } day } => $"disqualified until {PaperDates.Of(day)}",
        _ when paper.IsVoid => "disqualified",
        ({ } from, { } until) => $"{PaperDates.Of(from)} to {PaperDates.Of(until)}",
        ({ } from, null) => $"from {PaperDates.Of(from)}, no end",
        (null, { } until) when paper.Kind == PaperKind.Mot => $"until {PaperDates.Of(until)}, first day not known",
        (null, { } until) => $"until {PaperDates.Of(until)}",
        _ => "no dates",
    };
}
