using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>Records what was taught. A record may be put right; its history keeps what stood before.</summary>
internal sealed class RecordLesson(SchoolDb db, LessonRecording lessons, RecordRules rules, MotorwayCheck motorway, RecordHistory history, PupilBook pupils, OwnPupils own, SchoolInfo school, IClock clock)
{
    public Task<Outcome<LessonSheet>> RunAsync(Viewer viewer, Guid lessonId, RecordRequest request, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<LessonSheet>(
            async cancel =>
            {
                await db.LockAsync([LessonRecord.LockOf(lessonId)], cancel);
                if (await lessons.FindAsync(lessonId, viewer, cancel) is not { } lesson)
                {
                    return Refusal.NotFound("lesson");
                }

                // Who gave it writes down what was taught, also a week later.
                if (lesson.InstructorId != viewer.InstructorId && await own.RefuseUnseenAsync(viewer, lesson.PupilId, cancel) is { } unseen)
                {
                    return unseen;
                }

                var kept = await db.Set<LessonRecord>().SingleOrDefaultAsync(r => r.LessonId == lessonId, cancel);
                var read = await rules.ReadAsync(request, kept, cancel);
                if (!read.Ok)
                {
                    return read.Refusal;
                }

                var pupil = (await pupils.CardsAsync([lesson.PupilId], cancel))[lesson.PupilId];
                var on = lesson.StartsAt.InZone((await school.GetAsync(cancel)).Zone).Date;
                if (await motorway.RefuseAsync(pupil, on, lesson.InstructorId, lesson.CarId, read.Value.RouteKind, read.Value.Levels, cancel) is { } refusal)
                {
                    return refusal;
                }

                // A press too many on a slow line is no quarrel with somebody else: RFC 9110, 13.1.1 lets what is done already succeed.
                if (expected is { } version && version != lesson.Version
                    && lesson.State is LessonState.Taught && kept is not null && read.Value.SaysTheSameAs(RecordContent.Of(lesson, kept)))
                {
                    return lesson;
                }

                var applied = await lessons.ApplyAsync(lessonId, request.MinutesTaught, read.Value.Note, expected, viewer, cancel);
                if (applied.Ok)
                {
                    Keep(read.Value, kept, applied.Value, viewer);
                }

                return applied;
            },
            cancel);

    private void Keep(RecordContent content, LessonRecord? kept, LessonSheet lesson, Viewer viewer)
    {
        var now = clock.GetCurrentInstant();
        if (kept is null)
        {
            kept = new() { LessonId = lesson.Id, PupilId = lesson.PupilId, Edition = content.Edition, RecordedAt = now, RecordedBy = viewer.PersonId };
            db.Add(kept);
        }

        kept.Take(content, now, viewer.PersonId);
        history.Note(lesson.Id, content, viewer);
    }
}
