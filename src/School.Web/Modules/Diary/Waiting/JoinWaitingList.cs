using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>What is waited for. Days and kind are for any lesson: this week's and the usual one when none are given.</summary>
internal sealed record JoinRequest(
    [property: JsonRequired] Guid PupilId, [property: JsonRequired] WaitingFor For, Guid? InstructorId = null, LocalDate? From = null, LocalDate? To = null,
    LessonKind? Kind = null)
{
    public const int MostDays = 28;
}

/// <summary>Puts a pupil on the waiting list, or takes them off it.</summary>
internal sealed class JoinWaitingList(SchoolDb db, PupilBook pupils, OwnPupils own, InstructorBook instructors, PictureLoader pictures, SchoolInfo school, IClock clock)
{
    public async Task<Outcome<WaitingEntry>> RunAsync(Viewer viewer, JoinRequest request, CancellationToken cancel)
    {
        var read = await ReadAsync(viewer, request, cancel);
        if (!read.Ok)
        {
            return read.Refusal;
        }

        return await db.InTransactionAsync<WaitingEntry>(
            _ =>
            {
                var entry = new WaitingEntry { PupilId = request.PupilId, Since = clock.GetCurrentInstant() }.Take(read.Value);
                db.Add(entry);
                return Task.FromResult<Outcome<WaitingEntry>>(entry);
            },
            cancel);
    }

    /// <summary>What is waited for, checked, with this week's days where none are given.</summary>
    /// <param name="viewer">Who asks.</param>
    /// <param name="request">What is waited for.</param>
    /// <param name="cancel">Stops.</param>
    /// <param name="kept">The kind that is waited for already; it may stay, whoever may book it.</param>
    public async Task<Outcome<WaitingWish>> ReadAsync(Viewer viewer, JoinRequest request, CancellationToken cancel, LessonKind? kept = null)
    {
        viewer = viewer.Towards(request.PupilId);
        if (!viewer.Sees(request.PupilId) || await pupils.FindAsync(request.PupilId, viewer, cancel) is not { } pupil)
        {
            return Refusal.NotFound("pupil");
        }

        if (await own.RefuseToArrangeAsync(viewer, pupil.Id, cancel) is { } notYours)
        {
            return notYours;
        }

        if (pupil.RetiredOn is not null)
        {
            return PupilRefusals.Left;
        }

        if (request.InstructorId is { } id)
        {
            if (await instructors.FindAsync(id, cancel) is not { RetiredOn: null } instructor)
            {
                return Refusal.NotFound("instructor");
            }

            if (SlotRefusals.WrongGearbox(instructor, pupil) is { } never)
            {
                return never;
            }
        }

        // Before they are reckoned with: the calendar ends in 9999.
        if (new FieldErrors().WrongYear(nameof(request.From), request.From).WrongYear(nameof(request.To), request.To).ToRefusal() is { } wrong)
        {
            return wrong;
        }

        var (now, today) = (clock.GetCurrentInstant(), (await school.GetAsync(cancel)).Today(clock));
        var (from, to) = request.For == WaitingFor.EarlierLesson
            ? (null, null)
            : ((LocalDate?)(request.From ?? today), (LocalDate?)(request.To ?? EndOfWeek(request.From ?? today)));
        var errors = new FieldErrors()
            .When(to < from, nameof(request.To), "The last day must not be before the first.")
            .When(to < today, nameof(request.To), "These days are already past.")
            .When(to > from?.PlusDays(JoinRequest.MostDays), nameof(request.To), $"Wait for at most {JoinRequest.MostDays} days at a time.")
            .When(
                request.For == WaitingFor.EarlierLesson && (request.From ?? request.To) is not null,
                nameof(request.From), "An earlier lesson is wanted before the one that is booked, so leave the days empty.")
            .When(
                request is { For: WaitingFor.EarlierLesson, Kind: not (null or LessonKind.Standard) },
                nameof(request.Kind), "An earlier lesson stays the kind that it is, so leave the kind empty.");
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        if (request.For == WaitingFor.EarlierLesson
            && !await db.Set<Lesson>().AnyAsync(l => l.PupilId == pupil.Id && l.State == LessonState.Booked && l.StartsAt > now, cancel))
        {
            return Refusal.Rule("no_lesson_ahead", "There is no lesson booked that could be earlier. Book one, or wait for any lesson.");
        }

        var kind = request.Kind ?? LessonKind.Standard;
        return kind != kept && (await pictures.RulesAsync(cancel)).KindOf(kind).NotFor(viewer) is { } notGiven ? notGiven : new WaitingWish(request.For, request.InstructorId, from, to, kind);
    }

    /// <summary>Puts the pupil of a lesson that the school gave up on the list, in the caller's transaction: for any lesson until a week after it.</summary>
    public async Task AddAsync(Lesson lesson, CancellationToken cancel)
    {
        if (await db.Set<WaitingEntry>().AnyAsync(w => w.PupilId == lesson.PupilId && w.For == WaitingFor.AnyLesson && w.State == WaitingState.Waiting, cancel)
            || db.Set<WaitingEntry>().Local.Any(w => w.PupilId == lesson.PupilId && w.For == WaitingFor.AnyLesson))
        {
            return;
        }

        var facts = await school.GetAsync(cancel);
        var kind = (await pictures.RulesAsync(cancel)).KindOf(lesson.Kind).Offered ? lesson.Kind : LessonKind.Standard;
        db.Add(new WaitingEntry { PupilId = lesson.PupilId, Since = clock.GetCurrentInstant() }.Take(
            new(WaitingFor.AnyLesson, null, facts.Today(clock), lesson.StartsAt.InZone(facts.Zone).Date.PlusWeeks(1), kind)));
    }

    private static LocalDate EndOfWeek(LocalDate date) => date.PlusDays(IsoDayOfWeek.Sunday - date.DayOfWeek);
}

internal static class WaitingAccess
{
    /// <summary>What is not found, in words.</summary>
    public const string Entry = "entry on the waiting list";

    /// <summary>A pupil sees their own entries and offers, staff everybody's.</summary>
    public static bool Sees(this Viewer viewer, Guid pupilId) => viewer.ArrangesLessons || viewer.PupilId == pupilId;
}
