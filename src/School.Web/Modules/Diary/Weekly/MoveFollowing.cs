using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Core.Diary.Charges;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

/// <summary>Where the first of them goes; the others follow by as many days, at the same new time. Only those named, or all.</summary>
internal sealed record MoveFollowingRequest([property: JsonRequired] Instant Start, Guid? InstructorId = null, [property: Items(1, WeeklyRequest.Most)] IReadOnlyList<Guid>? Only = null);

/// <summary>What becomes of one of them.</summary>
internal sealed record FollowingMove(
    Guid LessonId, Instant Before, LocalDate Date, Instant? Start, bool Fits, string? Code, string? Sentence, ProposalCharge? Charge);

/// <summary>Where each of them goes, nothing checked yet but who may ask.</summary>
internal sealed record FollowingGoes(
    Lesson First, IReadOnlyList<Lesson> Chosen, IReadOnlyDictionary<Guid, WeeklyStart> To, PupilCard Pupil, InstructorCard Instructor)
{
    public List<ProposalLine> Lines =>
        [.. Chosen.Select(l => new ProposalLine(l.Id, ProposalAct.Move, [l.Id], Instructor.Id, null, To[l.Id].Start, null, []))];
}

/// <summary>Moves a weekly lesson and those that follow it: all that are asked for or none.</summary>
internal sealed class MoveFollowing(
    FollowingLessons following, MoveLesson move, PupilBook pupils, InstructorBook instructors, LessonLocks locks, SchoolInfo school, SchoolDb db, IClock clock)
{
    private static readonly Refusal OnlyLooking = Refusal.Rule("preview", "Nothing was moved.");

    /// <summary>Does it all in a transaction that is undone, so that what is told beforehand cannot differ from what happens.</summary>
    public async Task<Outcome<List<FollowingMove>>> PreviewAsync(Guid lessonId, MoveFollowingRequest request, Viewer viewer, CancellationToken cancel)
    {
        var lines = new List<FollowingMove>();
        var outcome = await db.InTransactionAsync<List<FollowingMove>>(
            async cancel =>
            {
                lines.Clear();
                var goes = await GoesAsync(viewer, lessonId, request, cancel);
                if (!goes.Ok)
                {
                    return goes.Refusal;
                }

                await LockAsync(goes.Value, cancel);
                foreach (var lesson in await InOrderAsync(goes.Value.Chosen.Select(l => l.Id), request.Start > goes.Value.First.StartsAt, cancel))
                {
                    var (before, to) = (lesson.StartsAt, goes.Value.To[lesson.Id]);
                    var moved = await ApplyAsync(viewer, lesson, goes.Value, to, cancel);
                    lines.Add(new(
                        lesson.Id, before, to.Date, to.Start, moved.Ok, moved.Refusal?.Code, moved.Refusal?.For(viewer),
                        moved.Ok && lesson.Charge is { } charge ? ProposalCharge.Of(charge) : null));
                    if (moved.Ok)
                    {
                        await db.SaveChangesAsync(cancel);
                    }
                }

                return OnlyLooking;
            },
            cancel);
        lines.Sort((a, b) => a.Before.CompareTo(b.Before));
        return ReferenceEquals(outcome.Refusal, OnlyLooking) ? lines : outcome.Refusal!;
    }

    /// <summary>Where each goes: by as many days as the first, to the same new time.</summary>
    public async Task<Outcome<FollowingGoes>> GoesAsync(Viewer viewer, Guid lessonId, MoveFollowingRequest request, CancellationToken cancel)
    {
        var errors = new FieldErrors().WrongStart(request.Start, clock)
            .When(request.Only?.Count > WeeklyRequest.Most, nameof(request.Only), $"Choose at most {WeeklyRequest.Most} of the lessons.");
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var found = await following.FindAsync(lessonId, viewer, cancel);
        if (!found.Ok)
        {
            return found.Refusal;
        }

        var (all, first) = (found.Value, found.Value[0]);
        viewer = viewer.Towards(first.PupilId);
        var instructorId = request.InstructorId ?? first.InstructorId;
        if (await pupils.FindAsync(first.PupilId, viewer, cancel) is not { } pupil
            || !viewer.MayBookWith(instructorId) || await instructors.FindAsync(instructorId, cancel) is not { } instructor)
        {
            return Refusal.NotFound("instructor");
        }

        if (await move.NotNowAsync(viewer, first, cancel) is { } late)
        {
            return late;
        }

        var zone = (await school.GetAsync(cancel)).Zone;
        var chosen = request.Only is { } only ? all.FindAll(l => only.Contains(l.Id)) : all;
        return chosen.Count == 0
            ? Refusal.Invalid(nameof(request.Only), "Choose at least one of the lessons.")
            : new FollowingGoes(first, chosen, chosen.ToDictionary(l => l.Id, l => WeeklyStarts.Shifted(l.StartsAt, first.StartsAt, request.Start, zone)), pupil, instructor);
    }

    /// <summary>In the transaction and under the locks of the proposal: each goes where its line says, or nothing is done.</summary>
    public async Task<Refusal?> CarryOutAsync(
        Viewer viewer, Guid lessonId, MoveFollowingRequest request, IReadOnlyDictionary<Guid, Instant>? seen, IReadOnlyList<ProposalLine> lines,
        ChangesMade made, CancellationToken cancel)
    {
        var read = await GoesAsync(viewer, lessonId, request, cancel);
        if (read is not { Ok: true, Value: { } goes })
        {
            return read.Refusal;
        }

        var moves = lines.Where(line => line.Act is ProposalAct.Move).ToDictionary(line => line.Id, line => line.Start);
        if (moves.Any(line => !goes.To.TryGetValue(line.Key, out var to) || to.Start != line.Value))
        {
            return FollowingLessons.Changed;
        }

        foreach (var lesson in await InOrderAsync(moves.Keys, request.Start > goes.First.StartsAt, cancel))
        {
            var before = lesson.StartsAt;
            if (seen is not null && (!seen.TryGetValue(lesson.Id, out var then) || then != before))
            {
                return FollowingLessons.Changed;
            }

            var moved = await ApplyAsync(viewer, lesson, goes, goes.To[lesson.Id], cancel);
            if (!moved.Ok)
            {
                var when = (await school.GetAsync(cancel)).Moment(before);
                return moved.Refusal with { Telling = moved.Refusal.Telling.Map(why => $"Nothing was moved. The lesson of {when}: {why}") };
            }

            made.Moved(moved.Value);
            await db.SaveChangesAsync(cancel);
        }

        return made.All.Count > 0 ? null : Refusal.Rule("nothing_fits", "None of these lessons can move there, so nothing was moved.");
    }

    private async Task LockAsync(FollowingGoes goes, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var days = goes.To.Values.Select(to => new DiaryDay(goes.Instructor.Id, to.Date))
            .Concat(goes.Chosen.Select(l => new DiaryDay(l.InstructorId, l.StartsAt.InZone(zone).Date)));
        await locks.TakeAsync(goes.Pupil.Id, [.. days.Distinct()], goes.Chosen.Select(l => l.CarId).Distinct(), cancel);
    }

    /// <summary>The furthest on goes first when all go on, so that none steps on the next one's place.</summary>
    private async Task<List<Lesson>> InOrderAsync(IEnumerable<Guid> ids, bool goOn, CancellationToken cancel)
    {
        var wanted = ids.ToArray();
        var lessons = await db.Set<Lesson>().Where(l => wanted.Contains(l.Id)).OrderBy(l => l.StartsAt).ToListAsync(cancel);
        return goOn ? [.. Enumerable.Reverse(lessons)] : lessons;
    }

    private async Task<Outcome<MovedLesson>> ApplyAsync(Viewer viewer, Lesson lesson, FollowingGoes goes, WeeklyStart to, CancellationToken cancel) =>
        to.Start is { } start
            ? await move.ApplyAsync(viewer, lesson, goes.Pupil, goes.Instructor, start, viewer.Towards(lesson.PupilId).IsStaff ? ChargeCause.School : ChargeCause.Pupil, cancel)
            : Refusal.Rule(PreviewWeekly.SkippedByClock, "The clocks go forward and skip this time.");
}
