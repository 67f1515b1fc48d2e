using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.Contracts;

/// <summary>Whoever looks after the school alone teaches too: one person, one sign-in, both hats at once. Who teaches already goes on doing so.</summary>
internal sealed class TeachToo(SchoolDb db, Audit audit)
{
    private static readonly Refusal NotYours = Refusal.Rule("hats_not_yours", "Who teaches is decided by whoever looks after the settings.");

    public Task<Outcome<InstructorCard>> RunAsync(Viewer viewer, CancellationToken cancel) => db.InTransactionAsync<InstructorCard>(
        async cancel =>
        {
            if (!viewer.May(Permission.GiveHats))
            {
                return NotYours;
            }

            await db.LockAsync([SettingsHolders.Lock], cancel);
            var person = await db.Set<Person>().SingleAsync(p => p.Id == viewer.PersonId, cancel);
            if (person.InstructorId is { } already)
            {
                return InstructorBook.Card(await db.Set<Instructor>().SingleAsync(i => i.Id == already, cancel));
            }

            // Entered before by themselves, and signing in as nobody.
            var instructor = await db.Set<Instructor>().Where(i => i.RetiredOn == null && i.Email == person.Email && !db.Set<Person>().Any(p => p.InstructorId == i.Id))
                .OrderBy(i => i.Id).FirstOrDefaultAsync(cancel) ?? Added(person);
            person.InstructorId = instructor.Id;
            person.HatsVersion++;
            audit.Note(viewer, "person.hats", person.Id, $"Changed the hats of {person.Name}: {WornHats.Of(person).Words}");
            return InstructorBook.Card(instructor);

            Instructor Added(Person who)
            {
                var added = db.Add(new Instructor
                {
                    Name = who.Name,
                    Email = who.Email ?? "",
                    Phone = "",
                    Teaches = [],
                    Registration = null,
                    RegistrationNumber = "",
                    RegisteredTo = null,
                    Base = Place.Unknown,
                }).Entity;
                audit.Note(viewer, "instructor.add", added.Id, $"Added {added.Name}.");
                return added;
            }
        },
        cancel);
}
