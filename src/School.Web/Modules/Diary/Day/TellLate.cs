using NodaTime;
using School.Core.Diary.Order;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Day;

/// <summary>How late, and the moment for which it was worked out: what is confirmed is what was shown.</summary>
/// <param name="NotBegun">The lesson that is on by the clock has not begun, so it is the one that is late.</param>
/// <param name="Begun">The lesson whose pupil was told that it starts later has begun all the same, so it is on.</param>
internal sealed record LateQuestion(Guid InstructorId, LocalDate Date, int Minutes, Instant? At = null, bool NotBegun = false, bool Begun = false);

/// <summary>A lesson of the rest of the day, and what its pupil was told before; null for nothing.</summary>
internal sealed record LateLesson(Lesson Lesson, PupilCard Pupil, LateStop Stop, int? ToldMinutes)
{
    public int LateMinutes => Stop.LateMinutes;

    /// <summary>Whether the pupil is to be told something new: late, late by another time, or on time after all.</summary>
    public bool IsNews => LateMinutes != (ToldMinutes ?? 0);

    /// <summary>Whether a letter reaches the pupil; where not, somebody has to ring them.</summary>
    public bool HasAddress => Pupil.HasEmail;
}

/// <summary>What is on; Lesson and Pupil are null where it is no booked lesson.</summary>
internal sealed record LateOn(Lesson? Lesson, PupilCard? Pupil);

internal sealed record LateAnswer(
    InstructorCard Instructor, SchoolFacts School, LateQuestion Question, Instant At, IReadOnlyList<LateLesson> Lessons, Instant? HomeAt)
{
    /// <summary>Who has the lesson that is on, which is late; null when nothing is on, and the next start is.</summary>
    public LateOn? On { get; init; }

    public IReadOnlyList<LateLesson> ToTell => [.. Lessons.Where(lesson => lesson.IsNews)];
}

/// <summary>Works out what running late does to the rest of an instructor's day, and tells the pupils.</summary>
internal sealed class TellLate(
    SchoolDb db, LateReader reader, InstructorBook instructors, SchoolInfo school, LateLetters letters, IClock clock)
{
    public const int MostMinutes = RunningLate.MostMinutes;
    public static readonly Duration ShownFor = Duration.FromMinutes(10);

    public async Task<Outcome<LateAnswer>> PreviewAsync(Viewer viewer, LateQuestion question, CancellationToken cancel)
    {
        if (!viewer.KeepsDiaryOf(question.InstructorId) || await instructors.FindAsync(question.InstructorId, cancel) is not { } instructor)
        {
            return Refusal.NotFound("instructor");
        }

        if (new FieldErrors().When(question.Minutes is < 1 or > MostMinutes, nameof(question.Minutes), $"Enter 1 to {MostMinutes} minutes.").ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var facts = await school.GetAsync(cancel);
        var now = Instant.FromUnixTimeSeconds(clock.GetCurrentInstant().ToUnixTimeSeconds());
        if (question.Date != now.InZone(facts.Zone).Date)
        {
            return Refusal.Rule("not_today", "Running late is about today. For another day, move the lessons.");
        }

        if (question.At is { } shown && (shown > now || now - shown > ShownFor))
        {
            return Refusal.Conflict("late_worked_out_long_ago", "This was worked out more than ten minutes ago. Look at it again.");
        }

        return await reader.AnswerAsync(question, instructor, facts, question.At ?? now, cancel);
    }

    /// <summary>Tells every pupil for whom there is news. Confirmed twice, nobody is told twice.</summary>
    public async Task<Outcome<LateAnswer>> RunAsync(Viewer viewer, LateQuestion question, CancellationToken cancel) => await db.InTransactionAsync<LateAnswer>(
        async cancel =>
        {
            await db.LockAsync([$"instructor-day:{question.InstructorId}:{question.Date:uuuu-MM-dd}"], cancel);
            var answer = await PreviewAsync(viewer, question, cancel);
            if (!answer.Ok)
            {
                return answer;
            }

            foreach (var late in answer.Value.ToTell)
            {
                await letters.TellAsync(late, viewer, cancel);
            }

            return answer;
        },
        cancel);
}
