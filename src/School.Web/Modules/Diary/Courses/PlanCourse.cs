using System.Text.Json.Serialization;
using NodaTime;
using School.Core;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Courses;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Courses;

/// <summary>An intensive course wanted: so many minutes of teaching with one instructor, spread over some days with at most so many on each.</summary>
/// <param name="PupilId">Whose.</param>
/// <param name="InstructorId">With whom.</param>
/// <param name="Minutes">Minutes of teaching in all.</param>
/// <param name="From">First day.</param>
/// <param name="To">Last day, that day included.</param>
/// <param name="MostMinutesADay">The most minutes of teaching on one day.</param>
/// <param name="Gearbox">That of the pupil, where it is to be made sure of.</param>
/// <param name="OnHolidays">Whether public holidays are days like others.</param>
/// <param name="PickUp">Where each lesson begins; the pupil's own place if not told.</param>
/// <param name="DropOff">Where each ends; the pick-up if not told.</param>
internal sealed record CourseRequest(
    [property: JsonRequired] Guid PupilId, [property: JsonRequired] Guid InstructorId,
    [property: JsonRequired, Between(CourseRequest.Fewest, CourseRequest.Most)] int Minutes, [property: JsonRequired] LocalDate From, [property: JsonRequired] LocalDate To,
    [property: Between(CourseWish.ShortestMinutes, Lesson.LongestMinutes)] int MostMinutesADay = CourseRequest.UsualADay, Gearbox? Gearbox = null, bool OnHolidays = false,
    PlaceInput? PickUp = null, PlaceInput? DropOff = null)
{
    public const int Fewest = 120;
    public const int Most = 3600;

    /// <summary>Four hours: common practice, no source.</summary>
    public const int UsualADay = 240;

    public const int LongestDays = 60;

    public int Days => Period.DaysBetween(From, To) + 1;

    /// <summary>The lesson of one of its days.</summary>
    public BookRequest ToLesson(Instant start) => new(PupilId, InstructorId, start, CourseWish.ShortestMinutes, PickUp, DropOff, LessonKind.Intensive);
}

/// <summary>Asks for a course: what makes no sense is refused, all of it at once; the rest is worked out and kept.</summary>
internal sealed class PlanCourse(MakeProposal make, BookLesson book, PictureLoader pictures, SchoolInfo school, IClock clock)
{
    public async Task<Outcome<Proposal>> RunAsync(Viewer viewer, CourseRequest request, CancellationToken cancel)
    {
        var errors = await WrongAsync(request, cancel);
        var read = await book.ReadAsync(request.ToLesson(clock.GetCurrentInstant().MinuteOf()), viewer, cancel);
        if (read.Refusal is { Kind: not RefusalKind.Invalid } nobody)
        {
            return nobody;
        }

        if (read.Refusal is { } places)
        {
            errors.AddAll(places);
        }
        else if (read.Ok && request.Gearbox is { } gearbox && gearbox != read.Value.Pupil.Gearbox)
        {
            errors.Add(nameof(request.Gearbox), $"The pupil learns in {(gearbox == Gearbox.Manual ? "an automatic" : "a manual")}. Plan the course in that, or change the gearbox on the pupil's page first.");
        }

        return errors.ToRefusal() is { } invalid ? invalid : await make.RunAsync(viewer, new(ProposalKind.Course, request), cancel);
    }

    private async Task<FieldErrors> WrongAsync(CourseRequest request, CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        var horizon = (await pictures.RulesAsync(cancel)).HorizonDays;
        var last = today.PlusDays(horizon);
        var errors = new FieldErrors().WrongYear(nameof(request.From), request.From).WrongYear(nameof(request.To), request.To);
        var sensible = !errors.Any && request.To >= request.From;
        errors.When(
                request.Minutes is < CourseRequest.Fewest or > CourseRequest.Most, nameof(request.Minutes),
                $"A course has from {ScreenWords.Length(CourseRequest.Fewest)} to {ScreenWords.Length(CourseRequest.Most)} of teaching.")
            .When(
                request.MostMinutesADay is < CourseWish.ShortestMinutes or > Lesson.LongestMinutes, nameof(request.MostMinutesADay),
                $"Give from {ScreenWords.Length(CourseWish.ShortestMinutes)} to {ScreenWords.Length(Lesson.LongestMinutes)} of teaching for one day.")
            .When(request.From < today, nameof(request.From), "The first day has passed. Give a day still to come.")
            .When(request.To < request.From, nameof(request.To), "The last day must not be before the first.")
            .When(sensible && request.Days > CourseRequest.LongestDays, nameof(request.To), $"A course takes at most {CourseRequest.LongestDays} days, from the first to the last.")
            .When(
                request.To > last, nameof(request.To),
                $"Lessons are booked at most {Words.Count(horizon, "day")} ahead, so a course must be over by {ScreenWords.DayAndYear(last)}. Choose an earlier last day, or a longer time under the booking rules.");
        if (sensible && request is { Minutes: >= CourseRequest.Fewest and <= CourseRequest.Most, MostMinutesADay: >= CourseWish.ShortestMinutes and <= Lesson.LongestMinutes }
            && request.Minutes > (long)request.Days * request.MostMinutesADay)
        {
            errors.Add(
                nameof(request.Minutes),
                $"{ScreenWords.Length(request.Minutes)} cannot be had in {Words.Count(request.Days, "day")} with at most {ScreenWords.Length(request.MostMinutesADay)} on each. Give more days, or more hours a day.");
        }

        return errors;
    }
}

internal static class WholeMinutes
{
    /// <summary>The minute in which a moment lies.</summary>
    public static Instant MinuteOf(this Instant moment) => Instant.FromUnixTimeSeconds(moment.ToUnixTimeSeconds() / 60 * 60);
}
