using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>Replaces all times at which a pupil can have lessons, by the pupil or the staff.</summary>
internal sealed class ChangeAvailability(SchoolDb db, OwnPupils own)
{
    public Task<Outcome<Pupil>> RunAsync(Viewer viewer, Guid id, IReadOnlyList<AvailableTime> times, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<Pupil>(
            async cancel =>
            {
                var taken = await db.Set<Pupil>().VisibleTo(viewer).TakeAsync(id, expected, "pupil", cancel);
                if (!taken.Ok)
                {
                    return taken;
                }

                if (await own.RefuseAsync(viewer, id, cancel) is { } notYours)
                {
                    return notYours;
                }

                if (Problem(times) is { } problem)
                {
                    return problem;
                }

                await db.Set<PupilAvailability>().Where(a => a.PupilId == id).ExecuteDeleteAsync(cancel);
                db.AddRange(times.Select(time => new PupilAvailability { PupilId = id, Day = time.Day, From = time.From, To = time.To }));
                taken.Value.Touch();
                return taken;
            },
            cancel);

    private static Refusal? Problem(IReadOnlyList<AvailableTime> times)
    {
        var errors = new FieldErrors().When(times.Count > PupilAvailability.Most, "Times", $"Give at most {PupilAvailability.Most} times.");
        foreach (var (index, time) in times.Index().Where(t => t.Item.To == LocalTime.Midnight && t.Item.From != LocalTime.Midnight))
        {
            errors.Add($"Times[{index}].To", "A time ends by 23:59 on the day on which it begins.");
        }

        foreach (var problem in AvailableTime.Problems(times).Where(_ => !errors.Any))
        {
            errors.Add($"Times[{problem.Index}].{problem.Field}", problem.Sentence);
        }

        return errors.ToRefusal();
    }
}
