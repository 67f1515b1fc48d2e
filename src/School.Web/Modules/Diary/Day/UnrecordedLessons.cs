using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Day;

/// <summary>Lessons past that nobody recorded.</summary>
internal sealed class UnrecordedLessons(SchoolDb db, InstructorBook instructors, PupilBook pupils, SchoolInfo school, IClock clock) : INeedAttention
{
    public const string Kind = "unrecorded_lesson";

    private static readonly AttentionHeading Heading = new(60, "Lessons not recorded yet", "Record it");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var (facts, now) = (await school.GetAsync(cancel), clock.GetCurrentInstant());
        var rows = await db.Set<Lesson>().AsNoTracking().Where(l => l.State == LessonState.Booked && l.EndsAt <= now).OrderBy(l => l.StartsAt)
            .Select(l => new { l.Id, l.PupilId, l.InstructorId, l.StartsAt }).ToListAsync(cancel);
        var names = await pupils.CardsAsync(rows.Select(l => l.PupilId), cancel);
        var teachers = (await instructors.ListAsync(alsoRetired: false, cancel)).ToDictionary(t => t.Id, t => t.Name);
        return
        [
            .. rows.Select(l => new AttentionItem(
                Kind,
                Heading,
                $"{names[l.PupilId].Name} with {teachers.GetValueOrDefault(l.InstructorId, "an instructor who has left")}, {facts.Moment(l.StartsAt)}: record what was taught, or that the pupil was not there.",
                LessonPages.Record(l.Id),
                l.StartsAt.InZone(facts.Zone).Date)
            {
                Urgency = AttentionUrgency.Today,
            }),
        ];
    }
}
