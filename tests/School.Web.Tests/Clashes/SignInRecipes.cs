using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using School.Web.Modules.People;
using School.Web.Modules.People.Account;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms.Kept;
using School.Web.Tests.Host;
using School.Web.Tests.People;

namespace School.Web.Tests.Clashes;

/// <summary>Signing in and what one changes about it oneself. Each runs as somebody new, in a session of their own.</summary>
internal static class SignInRecipes
{
    private const string Chosen = "four winds over larkfield";
    private static readonly SignInCaller Caller = new("", new Dictionary<Guid, Guid>());

    public static IEnumerable<Recipe> All =>
    [
        new(nameof(OpenSession), async world =>
        {
            var who = Proven.Of(await SomebodyAsync(world));
            return Act.Verb<OpenSession, OpenedSession>(world.Host, open => open.RunAsync(who.Viewer, new(who.Stamp, "a password", "a browser", null), default));
        }),
        new(nameof(EndSession), async world =>
        {
            var viewer = await ViewerAsync(world);
            return Act.Verb<EndSession, Session>(world.Host, end => end.RunAsync(viewer, viewer.SessionId!.Value, default));
        }),
        Own<EndOtherSessions>(async (world, viewer) =>
        {
            await ViewerAsync(world, await PersonAsync(world, viewer));
        }, (verb, viewer) => verb.RunAsync(viewer, default)),
        Own<SignOutEverywhere>((verb, viewer) => verb.RunAsync(viewer, default)),
        Own<ChangeOwnName>((verb, viewer) => verb.RunAsync(viewer, "Rosalind Fenn", default)),
        Own<ChangePassword>((verb, viewer) => verb.RunAsync(viewer, new(SchoolHost.Password, Chosen), default)),
        Own<StartSecondStep>((verb, viewer) => verb.RunAsync(viewer, SchoolHost.Password, default)),
        Own<TurnOffSecondStep>(SecondStepAsync, (verb, viewer) => verb.RunAsync(viewer, SchoolHost.Password, default)),
        new(nameof(TurnOnSecondStep), async world =>
        {
            var viewer = await ViewerAsync(world);
            await world.ServiceAsync((StartSecondStep start) => start.RunAsync(viewer, SchoolHost.Password, default));
            var code = await CodeAsync(world, viewer);
            return Act.Verb<TurnOnSecondStep, RecoveryCodes>(world.Host, turn => turn.RunAsync(viewer, code, default));
        }),
        new(nameof(MakeRecoveryCodes), async world =>
        {
            var viewer = await ViewerAsync(world);
            await SecondStepAsync(world, viewer);
            return Act.Verb<MakeRecoveryCodes, RecoveryCodes>(world.Host, make => make.RunAsync(viewer, SchoolHost.Password, default));
        }),
        new(nameof(CheckSecondStep), async world =>
        {
            var person = await SomebodyAsync(world);
            await TokensTests.SecondStepOnAsync(world.Host, person);
            var who = Proven.Of(await PersonAsync(world, Proven.Of(person).Viewer));
            var code = await CodeAsync(world, who.Viewer);
            return Act.Verb<CheckSecondStep, Proven>(world.Host, check => check.RunAsync(who, code, Caller, default));
        }),
        new(nameof(IssueToken), async world =>
        {
            var who = Proven.Of(await SomebodyAsync(world));
            return Act.Verb<IssueToken, IssuedToken>(world.Host, issue => issue.RunAsync(who.Viewer, new(who.Stamp, "evening export", TokenScope.Read), default));
        }),
        new(nameof(EndToken), async world =>
        {
            var person = await SomebodyAsync(world);
            var api = await world.ApiAsAsync(person);
            var id = await world.Host.WithDbAsync(db => db.Set<ApiToken>().Where(t => t.PersonId == person.Id).Select(t => t.Id).SingleAsync());
            return Act.Api(api, HttpMethod.Delete, $"/api/v1/tokens/{id}", etag: null);
        }),
        new($"{nameof(WriteResetLetters)} (job)", async world =>
        {
            await AskAsync(world, await SomebodyAsync(world));
            return Act.Job<WriteResetLetters>(world.Host, job => job.RunAsync(default));
        }),
        new($"{nameof(KeptForms)} (job)", async world =>
        {
            var person = await SomebodyAsync(world);
            var old = world.Host.Clock.GetCurrentInstant() - KeptForms.For;
            await world.Host.AddAsync(new KeptForm { Id = RowId.New(), PersonId = person.Id, Address = "/pupils/new", Fields = [1], KeptAt = old });
            return Act.Job<KeptForms>(world.Host, job => job.ForgetOldAsync(default));
        }),
        new($"{nameof(NoteWrongTries)} (job)", async world =>
        {
            var person = await SomebodyAsync(world);
            await world.ServiceAsync((CheckPassword check) => check.RunAsync(person.Email!, "wrong wrong wrong", new($"network {world.Next()}", Caller.Devices), default));
            return Act.Job<NoteWrongTries>(world.Host, job => job.RunAsync(default));
        }),
        new(nameof(ChooseNewPassword), async world =>
        {
            var person = await SomebodyAsync(world);
            await AskAsync(world, person);
            await Mails.WriteResetLettersAsync(world.Host);
            var token = await TokenAsync(world, person, "password-reset");
            return Act.Verb<ChooseNewPassword, Proven>(world.Host, choose => choose.RunAsync(Caller, person.Id, new(token, Chosen), default));
        }),
        new(nameof(AcceptInvitation), async world =>
        {
            var pupil = await world.PupilAsync();
            var invited = await world.ServiceAsync((IServiceProvider scope) =>
            {
                return scope.GetRequiredService<InvitePerson>().RunAsync(world.Viewer, new(pupil.Name, pupil.Email, PupilId: pupil.Id), default);
            });
            var (person, token) = (invited.Value!.Person, TokenOf(invited.Value.Link));
            return Act.Verb<AcceptInvitation, Proven>(world.Host, accept => accept.RunAsync(person.Id, new(token, Chosen), default));
        }),
        new(nameof(JoinInvitation), async world =>
        {
            var viewer = await ViewerAsync(world);
            var contact = await world.Data.ContactAsync($"Rowan Fenn {world.Next()}", ((await world.PupilAsync()).Id, [SeenOfPupil.Lessons]));
            var invited = await world.ServiceAsync((InvitePerson invite) => invite.RunAsync(world.Viewer, new(contact.Name, contact.Email, ContactId: contact.Id), default));
            var (person, token) = (invited.Value!.Person.Id, TokenOf(invited.Value.Link));
            return Act.Verb<JoinInvitation, Person>(world.Host, join => join.RunAsync(viewer, person, token, default));
        }),
        new(nameof(ChangeSignInName), async world =>
        {
            var viewer = await ViewerAsync(world);
            var name = $"rosalind.{world.Next()}.keeper";
            return Act.Verb<ChangeSignInName, Person>(world.Host, change => change.RunAsync(viewer, new(SchoolHost.Password, name), default));
        }),
        // The last of them: what it leaves is for the job above.
        new(nameof(AskForNewPassword), world => Task.FromResult(
            Act.Verb<AskForNewPassword, PasswordWish>(world.Host, ask => ask.RunAsync(new($"network {world.Next()}", Caller.Devices), "somebody@larkfield.example", default)))),
    ];

    private static Recipe Own<TVerb>(Func<TVerb, Viewer, Task<Outcome<Viewer>>> run)
        where TVerb : notnull => Own((_, _) => Task.CompletedTask, run);

    private static Recipe Own<TVerb>(Func<World, Viewer, Task> prepare, Func<TVerb, Viewer, Task<Outcome<Viewer>>> run)
        where TVerb : notnull => new(typeof(TVerb).Name, async world =>
        {
            var viewer = await ViewerAsync(world);
            await prepare(world, viewer);
            return Act.Verb<TVerb, Viewer>(world.Host, verb => run(verb, viewer));
        });

    private static async Task<Person> SomebodyAsync(World world) => await world.Data.OfficeAsync($"Rosalind Pike {world.Next()}");

    private static async Task<Viewer> ViewerAsync(World world, Person? person = null)
    {
        var who = Proven.Of(person ?? await SomebodyAsync(world));
        var opened = await world.ServiceAsync((OpenSession open) => open.RunAsync(who.Viewer, new(who.Stamp, "a password", "a browser", null), default));
        return who.Viewer with { SessionId = opened.Value!.Id };
    }

    private static Task<Person> PersonAsync(World world, Viewer viewer) =>
        world.Host.WithDbAsync(db => db.Set<Person>().AsNoTracking().SingleAsync(p => p.Id == viewer.PersonId));

    private static async Task SecondStepAsync(World world, Viewer viewer) => await TokensTests.SecondStepOnAsync(world.Host, await PersonAsync(world, viewer));

    private static async Task<string> CodeAsync(World world, Viewer viewer)
    {
        var person = await PersonAsync(world, viewer);
        var key = await world.ServiceAsync((UserManager<Person> people) => people.GetAuthenticatorKeyAsync(person));
        return Totp.Code(Totp.FromBase32(key!), Totp.StepOf(world.Host.Clock.GetCurrentInstant()));
    }

    private static Task<Outcome<PasswordWish>> AskAsync(World world, Person person) =>
        world.ServiceAsync((AskForNewPassword ask) => ask.RunAsync(new($"network {world.Next()}", Caller.Devices), person.Email!, default));

    private static async Task<string> TokenAsync(World world, Person person, string kind) => TokenOf(await Mails.LinkAsync(world.Host, person.Email!, kind));

    private static string TokenOf(string link) => Uri.UnescapeDataString(link[(link.IndexOf("token=", StringComparison.Ordinal) + "token=".Length)..]);
}
