using System.Text.Json.Serialization;
using NodaTime;
using School.Core.Diary.Charges;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

/// <summary>Where the first of them goes; the others follow by as many days, at the same new time. Only those named, or all.</summary>
internal sealed record MoveFollowingRequest([property: JsonRequired] Instant Start, Guid? InstructorId = null, IReadOnlyList<Guid>? Only = null);

/// <summary>What becomes of one of them.</summary>
internal sealed record FollowingMove(Guid LessonId, Instant Before, LocalDate Date, Instant? Start, bool Fits, string? Code, string? Sentence);

/// <summary>Moves a weekly lesson and those that follow it: all that are asked for or none.</summary>
internal sealed class MoveFollowing(
    FollowingLessons following, MoveLesson move, PupilBook pupils, InstructorBook instructors, WeeklyMail mail, SchoolInfo school,
    SchoolDb db, IClock clock)
{
    private static readonly Refusal OnlyLooking = Refusal.Rule("preview", "Nothing was moved.");

    /// <summary>Does it all in a transaction that is undone, so that what is told beforehand cannot differ from what happens.</summary>
    public async Task<Outcome<List<FollowingMove>>> PreviewAsync(Guid lessonId, MoveFollowingRequest request, Viewer viewer, CancellationToken cancel)
    {
        var lines = new List<FollowingMove>();
        var outcome = await RunAsync(lessonId, request, lines, viewer, cancel);
        return outcome.Ok || ReferenceEquals(outcome.Refusal, OnlyLooking) ? lines : outcome.Refusal;
    }

    public Task<Outcome<WeeklyLessons>> RunAsync(Guid lessonId, MoveFollowingRequest request, Viewer viewer, CancellationToken cancel) =>
        RunAsync(lessonId, request, null, viewer, cancel);

    private async Task<Outcome<WeeklyLessons>> RunAsync(
        Guid lessonId, MoveFollowingRequest request, List<FollowingMove>? preview, Viewer viewer, CancellationToken cancel)
    {
        if (new FieldErrors().WrongStart(request.Start, clock).ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var found = await following.FindAsync(lessonId, viewer, cancel);
        if (!found.Ok)
        {
            return found.Refusal;
        }

        var (all, first) = (found.Value, found.Value[0]);
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
        if (chosen.Count == 0)
        {
            return Refusal.Invalid(nameof(request.Only), "Choose at least one of the lessons.");
        }

        var goes = chosen.ToDictionary(l => l.Id, l => WeeklyStarts.Shifted(l.StartsAt, first.StartsAt, request.Start, zone));
        return await db.InTransactionAsync<WeeklyLessons>(
            async cancel =>
            {
                preview?.Clear();
                var locked = await following.LockAsync(chosen, goes.Values.Select(to => new DiaryDay(instructorId, to.Date)), cancel);
                if (!locked.Ok)
                {
                    return locked.Refusal;
                }

                // The furthest on goes first when all go on, so that none steps on the next one's place.
                var lessons = request.Start > first.StartsAt ? Enumerable.Reverse(locked.Value).ToList() : locked.Value;
                var moved = new List<MovedLesson>();
                foreach (var lesson in lessons)
                {
                    var (before, to) = (lesson.StartsAt, goes[lesson.Id]);
                    var outcome = await ApplyAsync(lesson, pupil, instructor, to, viewer, cancel);
                    preview?.Add(new(lesson.Id, before, to.Date, to.Start, outcome.Ok, outcome.Refusal?.Code, outcome.Refusal?.Sentence));
                    if (outcome.Ok)
                    {
                        moved.Add(outcome.Value);
                        await db.SaveChangesAsync(cancel);
                    }
                    else if (preview is null)
                    {
                        var when = (await school.GetAsync(cancel)).Moment(before);
                        return outcome.Refusal with { Sentence = $"Nothing was moved. The lesson of {when}: {outcome.Refusal.Sentence}" };
                    }
                }

                if (preview is not null)
                {
                    preview.Sort((a, b) => a.Before.CompareTo(b.Before));
                    return OnlyLooking;
                }

                moved.Sort((a, b) => a.Lesson.StartsAt.CompareTo(b.Lesson.StartsAt));
                await mail.MovedAsync(moved, viewer, cancel);
                return new WeeklyLessons(first.SeriesId!.Value, moved.ConvertAll(m => m.Lesson));
            },
            cancel);
    }

    private async Task<Outcome<MovedLesson>> ApplyAsync(
        Lesson lesson, PupilCard pupil, InstructorCard instructor, WeeklyStart to, Viewer viewer, CancellationToken cancel) =>
        to.Start is { } start
            ? await move.ApplyAsync(viewer, lesson, pupil, instructor, start, viewer.IsStaff ? ChargeCause.School : ChargeCause.Pupil, cancel)
            : Refusal.Rule(PreviewWeekly.SkippedByClock, "The clocks go forward and skip this time.");
}
