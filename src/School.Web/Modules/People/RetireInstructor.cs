using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.People;

/// <summary>
/// Sets or takes back the day from which an instructor teaches no more. Nothing is deleted; from that day on they do not sign in as an instructor.
/// </summary>
internal sealed class RetireInstructor(SchoolDb db, ChangeHats hats, Ahead ahead, SchoolInfo school, Audit audit, IClock clock)
{
    public Task<Outcome<Instructor>> RunAsync(Viewer viewer, Guid id, LocalDate? on, int? expected, CancellationToken cancel) => db.InTransactionAsync<Instructor>(
        async cancel =>
        {
            var taken = await db.Set<Instructor>().TakeAsync(id, expected, "instructor", cancel);
            if (!taken.Ok)
            {
                return taken;
            }

            var row = taken.Value;
            if (on is { Year: < 2000 or > 2099 })
            {
                return Refusal.Invalid("On", "Enter a year from 2000 to 2099.");
            }

            var today = clock.GetCurrentInstant().InZone((await school.GetAsync(cancel)).Zone).Date;
            if (on > today)
            {
                return Refusal.Invalid("On", "Enter the day from which they teach no more: today or earlier. To plan ahead, end their working hours on their last day.");
            }

            if (on is not null && await ahead.AskAsync(new(InstructorId: row.Id), cancel) is { Any: true } booked)
            {
                return booked.Refuse($"{row.Name} still has {booked.What} ahead. {booked.MoveThem} first.");
            }

            if (row.RetiredOn != on)
            {
                audit.Note(
                    viewer, on is null ? "instructor.take_back" : "instructor.retire", row.Id,
                    on is { } day ? $"{row.Name} teaches no more from {ScreenWords.DayAndYear(day)}." : $"Took {row.Name} back.");
            }

            row.RetiredOn = on;
            var person = await db.Set<Person>().Where(p => p.InstructorId == row.Id && !p.Closed).Select(p => (Guid?)p.Id).SingleOrDefaultAsync(cancel);
            if (on is not null && person is { } theirs && await hats.TakeOffAsync(viewer, theirs, Hat.Instructor, cancel) is { } refused)
            {
                return refused;
            }

            return row;
        },
        cancel);
}
