using System.Security.Claims;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.SignIn;

/// <summary>Carries a person whose password was right through the second step and into the pages.</summary>
internal sealed class PageSignIn(SignInManager<Person> signIn, UserManager<Person> people, SchoolDb db, IClock clock)
{
    public const string SetUpSecondStep = "/people/account/second-step";

    /// <summary>The first page of each role.</summary>
    public static string StartOf(Viewer viewer) => viewer switch
    {
        { SecondStepMissing: true } => SetUpSecondStep,
        { Role: Role.Pupil } => "/diary/home",
        { Role: Role.Instructor } => "/diary/day",
        { Role: Role.Office } => "/diary/board",
    };

    /// <summary>Remembers for five minutes, in a cookie of its own, who may go on to the second step.</summary>
    public static Task HoldAsync(HttpContext context, Person person)
    {
        var identity = new ClaimsIdentity(IdentityConstants.TwoFactorUserIdScheme);
        identity.AddClaim(new(ClaimTypes.Name, person.Id.ToString()));
        return context.SignInAsync(IdentityConstants.TwoFactorUserIdScheme, new(identity));
    }

    public async Task<Person?> HeldAsync(HttpContext context)
    {
        var held = await context.AuthenticateAsync(IdentityConstants.TwoFactorUserIdScheme);
        return held.Principal?.FindFirstValue(ClaimTypes.Name) is { } id && await people.FindByIdAsync(id) is { Closed: false } person ? person : null;
    }

    public async Task FinishAsync(HttpContext context, Person person)
    {
        await context.SignOutAsync(IdentityConstants.TwoFactorUserIdScheme);
        await signIn.SignInAsync(person, isPersistent: false);
        await NoteAsync(person, CancellationToken.None);
    }

    public Task NoteAsync(Person person, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        return db.Set<Person>().Where(p => p.Id == person.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.LastSignIn, now), cancel);
    }
}
