using System.Text.Json.Serialization;
using NodaTime;
using School.Core;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

/// <summary>Lessons to book together: the starts that were chosen from the preview.</summary>
internal sealed record BookWeeklyRequest(
    [property: JsonRequired] Guid PupilId, [property: JsonRequired] Guid InstructorId, [property: JsonRequired, Items(1, WeeklyRequest.Most)] IReadOnlyList<Instant> Starts,
    [property: JsonRequired, Between(Lesson.ShortestMinutes, Lesson.LongestMinutes)] int Minutes, PlaceInput? PickUp = null, PlaceInput? DropOff = null,
    LessonKind? Kind = null, Gearbox? Gearbox = null);

/// <summary>Weekly lessons that stand in the diary: each is a lesson by itself, with what joins them.</summary>
internal sealed record WeeklyLessons(Guid SeriesId, IReadOnlyList<Lesson> Lessons);

/// <summary>Books chosen starts as weekly lessons, each by the same checks as a single lesson, all or none.</summary>
internal sealed class BookWeekly(BookLesson book, SchoolInfo school, SchoolDb db)
{
    /// <summary>In the transaction and under the locks of the proposal.</summary>
    public async Task<Refusal?> CarryOutAsync(
        Viewer viewer, BookWeeklyRequest request, Guid seriesId, IReadOnlyList<ProposalLine> lines, ChangesMade made, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        foreach (var start in lines.Where(line => line.Act is ProposalAct.Book).Select(line => line.Start!.Value).Order())
        {
            var asked = await AskedAsync(viewer, request, start, cancel);
            var added = asked.Ok ? await book.AddAsync(asked.Value, start, seriesId, viewer, cancel) : asked.Refusal;
            if (!added.Ok)
            {
                return added.Refusal with { Telling = added.Refusal.Telling.Map(why => $"Nothing was booked. {facts.Moment(start)}: {why}") };
            }

            made.Booked(added.Value);
            // The next one is checked against a diary that holds this one: two may fall into one week.
            await db.SaveChangesAsync(cancel);
        }

        return made.All.Count > 0 ? null : NothingFits;
    }

    public static Refusal NothingFits { get; } = Refusal.Rule("nothing_fits", "None of these dates fits, so nothing was booked.");

    /// <summary>What makes no sense to ask for, whatever the diary says.</summary>
    public async Task<Refusal?> WrongAsync(Viewer viewer, BookWeeklyRequest request, CancellationToken cancel)
    {
        var starts = (request.Starts ?? []).Distinct().Order().ToList();
        if (starts.Count is 0 or > WeeklyRequest.Most)
        {
            return Refusal.Invalid(nameof(request.Starts), starts.Count == 0 ? "Choose at least one date." : $"Book at most {WeeklyRequest.Most} weeks at a time.");
        }

        foreach (var start in starts)
        {
            if ((await AskedAsync(viewer, request, start, cancel)).Refusal is { } refusal)
            {
                return refusal;
            }
        }

        return null;
    }

    private Task<Outcome<BookingAsked>> AskedAsync(Viewer viewer, BookWeeklyRequest request, Instant start, CancellationToken cancel) =>
        book.ReadAsync(new(request.PupilId, request.InstructorId, start, request.Minutes, request.PickUp, request.DropOff, request.Kind, request.Gearbox), viewer, cancel);
}
