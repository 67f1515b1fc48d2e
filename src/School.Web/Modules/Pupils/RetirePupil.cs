using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>The pupil takes no more lessons; everything that was taught and noted stays.</summary>
internal sealed class RetirePupil(SchoolDb db, SchoolInfo school, LessonBook lessons, Audit audit, Viewer viewer, IClock clock)
{
    public Task<Outcome<Pupil>> RunAsync(Guid id, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        var pupil = await db.Set<Pupil>().SingleOrDefaultAsync(p => p.Id == id, cancel);
        if (pupil is null)
        {
            return Refusal.NotFound("pupil");
        }

        if (pupil.RetiredOn is not null)
        {
            return pupil;
        }

        var ahead = await lessons.CountAheadAsync(cancel, pupilId: id);
        if (ahead > 0)
        {
            return Refusal.Rule("lessons_ahead", ahead == 1
                ? "This pupil has 1 lesson ahead. Cancel it, then retire the pupil."
                : $"This pupil has {ahead} lessons ahead. Cancel them, then retire the pupil.");
        }

        pupil.RetiredOn = (await school.GetAsync(cancel)).Today(clock);
        audit.Note(viewer, "pupil.retire", id);
        return pupil;
    }, cancel);
}
