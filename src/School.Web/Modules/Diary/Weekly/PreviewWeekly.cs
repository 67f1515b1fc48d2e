using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

/// <summary>Weekly lessons wanted: the first start gives weekday and local time of all.</summary>
internal sealed record WeeklyRequest(
    [property: JsonRequired] Guid PupilId, [property: JsonRequired] Guid InstructorId, [property: JsonRequired] Instant Start,
    [property: JsonRequired, Between(Lesson.ShortestMinutes, Lesson.LongestMinutes)] int Minutes,
    [property: JsonRequired, Between(WeeklyRequest.Fewest, WeeklyRequest.Most)] int Weeks, bool SkipHolidays = false, PlaceInput? PickUp = null, PlaceInput? DropOff = null,
    LessonKind? Kind = null, Gearbox? Gearbox = null)
{
    public const int Fewest = 2;
    public const int Most = 26;

    public BookWeeklyRequest ToStarts(IReadOnlyList<Instant> starts) => new(PupilId, InstructorId, starts, Minutes, PickUp, DropOff, Kind, Gearbox);
}

/// <summary>One date: whether a lesson fits there, else which rule says no and the nearest time that does.</summary>
internal sealed record WeeklyDate(LocalDate Date, Instant? Start, bool Fits, string? Holiday, string? Code, string? Sentence, SlotItem? Nearest);

internal sealed record WeeklyPreview(BookingAsked Asked, IReadOnlyList<WeeklyDate> Dates);

/// <summary>Looks at each date of weekly lessons before any is booked.</summary>
internal sealed class PreviewWeekly(BookLesson book, SlotFinder slots, SchoolInfo school, SchoolDb db)
{
    // A nearest time is looked for within the same days around: further away it is another week's lesson.
    private const int DaysAround = 3;

    public const string SkippedByClock = "clock_skips";
    private const string LeftOut = "holiday";

    public async Task<Outcome<WeeklyPreview>> RunAsync(WeeklyRequest request, Viewer viewer, CancellationToken cancel)
    {
        if (request.Weeks is < WeeklyRequest.Fewest or > WeeklyRequest.Most)
        {
            return Refusal.Invalid(nameof(request.Weeks), $"Book from {WeeklyRequest.Fewest} to {WeeklyRequest.Most} weeks at a time.");
        }

        var read = await book.ReadAsync(
            new(request.PupilId, request.InstructorId, request.Start, request.Minutes, request.PickUp, request.DropOff, request.Kind, request.Gearbox), viewer, cancel);
        if (!read.Ok)
        {
            return read.Refusal;
        }

        var asked = read.Value;
        // No date would fit, so it is said once and not of each.
        if (SlotRefusals.WrongGearbox(asked.Instructor, asked.Pupil) is { } never)
        {
            return never;
        }

        var facts = await school.GetAsync(cancel);
        var dates = WeeklyStarts.Of(request.Start, request.Weeks, facts.Zone);
        var (from, to) = (dates[0].Date, dates[^1].Date);
        var holidays = await db.Set<Holiday>().AsNoTracking().Where(h => h.Nation == facts.Nation && h.Date >= from && h.Date <= to)
            .ToDictionaryAsync(h => h.Date, h => h.Name, cancel);
        var starts = dates.Where(d => d.Start is not null).Select(d => d.Start!.Value).ToList();
        var verdicts = await slots.CheckEachAsync(asked.Question(from, to), asked.Pupil, asked.Instructor.Id, starts, viewer, cancel);
        if (!verdicts.Ok)
        {
            return verdicts.Refusal;
        }

        var byStart = starts.Zip(verdicts.Value).ToDictionary(pair => pair.First, pair => pair.Second);
        var lines = new List<WeeklyDate>();
        foreach (var (date, start) in dates)
        {
            var holiday = holidays.GetValueOrDefault(date);
            var refusal = holiday is not null && request.SkipHolidays ? Refusal.Rule(LeftOut, $"Left out: {holiday}.")
                : start is not { } moment ? Refusal.Rule(SkippedByClock, "The clocks go forward and skip this time.")
                : byStart[moment].Refusal;
            var nearest = refusal is null || refusal.Code == LeftOut ? null : await NearestAsync(asked, date, start ?? request.Start, viewer, cancel);
            lines.Add(new(date, start, refusal is null, holiday, refusal?.Code, refusal?.For(viewer), nearest));
        }

        return new WeeklyPreview(asked, lines);
    }

    private async Task<SlotItem?> NearestAsync(BookingAsked asked, LocalDate date, Instant wanted, Viewer viewer, CancellationToken cancel)
    {
        var question = asked.Question(date.PlusDays(-DaysAround), date.PlusDays(DaysAround)) with { InstructorId = asked.Instructor.Id };
        var answer = await slots.FindAsync(question, viewer, cancel);
        return answer.Ok && answer.Value.Offers.MinBy(o => o.Start > wanted ? o.Start - wanted : wanted - o.Start) is { } offer
            ? SlotItem.Of(offer, viewer)
            : null;
    }
}
