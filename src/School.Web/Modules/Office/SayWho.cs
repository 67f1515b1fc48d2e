using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Office;

/// <summary>Who the school is: its name and place, and whether whoever says so teaches in it alone.</summary>
internal sealed record Who(bool? Alone, SchoolNaming Naming);

/// <summary>Says who the school is. Whoever teaches alone is office and instructor from then on; all that is wrong is told at once, and then nothing is kept.</summary>
internal sealed class SayWho(SchoolDb db, NameSchool name, TeachToo teach)
{
    public Task<Outcome<SchoolFacts>> RunAsync(Viewer viewer, Who who, CancellationToken cancel) => db.InTransactionAsync<SchoolFacts>(
        async cancel =>
        {
            var errors = new FieldErrors().When(who.Alone is null, nameof(who.Alone), "Say whether you teach alone.");
            var named = await name.RunAsync(viewer, who.Naming, cancel);
            if (!named.Ok && named.Refusal.Fields.Count == 0)
            {
                return named;
            }

            if (!named.Ok)
            {
                errors.AddAll(named.Refusal);
            }

            if (errors.ToRefusal() is { } refusal)
            {
                return refusal;
            }

            return who.Alone is true && await teach.RunAsync(viewer, cancel) is { Ok: false } not ? not.Refusal : named;
        },
        cancel);
}
