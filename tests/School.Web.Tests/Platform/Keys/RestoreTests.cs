using System.Net;
using System.Net.Http.Headers;
using System.Net.Http.Json;
using System.Runtime.Versioning;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Platform.Database;
using School.Web.Platform.Operations;
using School.Web.Platform.Security;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Keys;

/// <summary>What a backup opens, and what it must not.</summary>
[UnsupportedOSPlatform("windows")]
public sealed class RestoreTests(TestPostgres postgres) : IDisposable
{
    private const string Note = "Insulin; a snack every ninety minutes.";
    private static readonly string ThiefsKey = new('7', 64);
    private static readonly bool[] EverythingOpens = [true, true, true, true];
    private static readonly bool[] NothingOpens = [false, false, false, false];
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("school-restore-");
    private readonly StringWriter said = new();

    private string BackupFile => Path.Combine(folder.FullName, "school.backup");

    public void Dispose()
    {
        folder.Delete(recursive: true);
        said.Dispose();
    }

    /// <summary>
    /// Somebody has last night's backup and not the key file. They restore it by PostgreSQL's own programs, give the office a password of
    /// their choice and sign in there. Neither with the keys that are in it nor with new ones does that cookie open the live service.
    /// </summary>
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task A_stolen_backup_opens_no_live_service(bool newKeys)
    {
        await using var live = await SchoolHost.OfItsOwnAsync(postgres);
        var held = await HoldAsync(live);
        Assert.Equal(0, await BackUpAsync(live));
        var stolen = await postgres.CreateDatabaseAsync();
        Assert.Equal(0, await BackupCommand.RunAsync(["restore", BackupFile, "--moves"], stolen, said, said));
        await GrantAsync(stolen);
        await using var thief = live.NodeOn(stolen, ("School:KeyFile", newKeys ? TestKeyFile.Make(ThiefsKey) : ""));
        if (newKeys)
        {
            await thief.WithDbAsync(db => db.Database.ExecuteSqlAsync($"DELETE FROM platform.data_protection_keys; DELETE FROM platform.sealing_keys"));
        }

        string? cookie = null;
        try
        {
            await using var restarted = thief.SecondNode(("School:MigrateAtStart", "true"));
            cookie = await CookieOf.SignedInAsync(restarted, held.Office);
        }
        catch (Exception shut) when (!newKeys && shut is Xunit.Sdk.XunitException)
        {
            // Without the key file nobody signs in at all.
        }

        Assert.Equal(newKeys, cookie is not null);
        if (cookie is not null)
        {
            Assert.Equal(HttpStatusCode.Redirect, (await CookieOf.AskAsync(live, "/people/office", cookie)).StatusCode);
        }

        Assert.Equal(HttpStatusCode.OK, (await CookieOf.AskAsync(live, "/people/office", held.Cookie)).StatusCode);
        await Assert.ThrowsAnyAsync<Exception>(() => NoteAsync(thief, held.Pupil));
    }

    [Fact]
    public async Task When_the_school_moves_everybody_stays_signed_in()
    {
        await using var old = await SchoolHost.OfItsOwnAsync(postgres);
        var held = await HoldAsync(old);
        Assert.Equal(0, await BackUpAsync(old));
        var target = await postgres.CreateDatabaseAsync();

        Assert.Equal(0, await RestoreAsync(old, target, "--moves"));

        await using var moved = old.NodeOn(target);
        Assert.Equal(EverythingOpens, await OpensAsync(moved, held));
        Assert.Equal(Note, await NoteAsync(moved, held.Pupil));
    }

    [Fact]
    public async Task A_copy_opens_with_nothing_that_opened_the_school_and_the_other_way_round()
    {
        await using var live = await SchoolHost.OfItsOwnAsync(postgres);
        var held = await HoldAsync(live);
        Assert.Equal(0, await BackUpAsync(live));
        var target = await postgres.CreateDatabaseAsync();

        Assert.Equal(0, await RestoreAsync(live, target, "--copy"));

        Assert.Contains("Everybody signs in anew", said.ToString(), StringComparison.Ordinal);
        await using var copy = live.NodeOn(target);
        Assert.Equal(NothingOpens, await OpensAsync(copy, held));
        Assert.Equal(Note, await NoteAsync(copy, held.Pupil));
        var there = await CookieOf.SignedInAsync(copy, held.Office);
        Assert.Equal(HttpStatusCode.OK, (await CookieOf.AskAsync(copy, "/people/office", there)).StatusCode);
        Assert.Equal(HttpStatusCode.Redirect, (await CookieOf.AskAsync(live, "/people/office", there)).StatusCode);
        Assert.Equal(EverythingOpens, await OpensAsync(live, held));
    }

    [Fact]
    public async Task Renew_ends_on_the_live_service_what_a_thief_may_hold()
    {
        await using var live = await SchoolHost.OfItsOwnAsync(postgres);
        var held = await HoldAsync(live);

        Assert.Equal(0, await BackupCommand.RunAsync(["renew"], live.ConnectionString, said, said, live.Services));

        await using var restarted = live.SecondNode();
        Assert.Equal(NothingOpens, await OpensAsync(restarted, held));
        Assert.Equal(Note, await NoteAsync(restarted, held.Pupil));
        var anew = await CookieOf.SignedInAsync(restarted, held.Office);
        Assert.Equal(HttpStatusCode.OK, (await CookieOf.AskAsync(restarted, "/people/office", anew)).StatusCode);
    }

    [Fact]
    public async Task Another_services_key_file_is_asked_for_and_its_keys_are_wrapped_with_our_own()
    {
        await using var old = await SchoolHost.OfItsOwnAsync(postgres);
        var held = await HoldAsync(old);
        Assert.Equal(0, await BackUpAsync(old));
        var target = await postgres.CreateDatabaseAsync();
        var own = TestKeyFile.Make(new string('b', 64));
        await using var other = old.SecondNode(("School:KeyFile", own));

        Assert.Equal(1, await RestoreAsync(other, target, "--moves"));
        Assert.Contains($"which {own} does not hold. Name the key file of the service that wrote it: --key FILE.", said.ToString(), StringComparison.Ordinal);
        Assert.Equal(1, await RestoreAsync(other, target, "--moves", "--key", TestKeyFile.Make(ThiefsKey)));
        Assert.Equal(1, await RestoreAsync(other, target, "--moves", "--key", "/nowhere/school.key"));
        Assert.Contains("/nowhere/school.key cannot be read", said.ToString(), StringComparison.Ordinal);
        Assert.Equal(0, await RestoreAsync(other, target, "--moves", "--key", TestKeyFile.Path));

        await using var moved = old.NodeOn(target, ("School:KeyFile", own));
        Assert.Equal(EverythingOpens, await OpensAsync(moved, held));
        Assert.Equal(Note, await NoteAsync(moved, held.Pupil));
    }

    [Fact]
    public async Task Which_it_is_is_asked_of_whoever_sits_there_and_refused_where_nobody_does()
    {
        await using var host = await SchoolHost.OfItsOwnAsync(postgres);
        Assert.Equal(0, await BackUpAsync(host));
        var target = await postgres.CreateDatabaseAsync();
        Assert.Equal(2, await RestoreAsync(host, target));
        Assert.Contains("--moves | --copy", said.ToString(), StringComparison.Ordinal);
        Assert.Equal(2, await BackupCommand.RunAsync(["restore", BackupFile], target, said, said, host.Services, new StringReader("yes\n")));
        Assert.Equal(0, await BackupCommand.RunAsync(["restore", BackupFile], target, said, said, host.Services, new StringReader(" 2 \n")));
        Assert.Contains("1 or 2?", said.ToString(), StringComparison.Ordinal);
        Assert.Contains("Everybody signs in anew", said.ToString(), StringComparison.Ordinal);
    }

    private Task<int> BackUpAsync(SchoolHost host) => BackupCommand.RunAsync(["backup", BackupFile], host.ConnectionString, said, said, host.Services);

    private async Task<int> RestoreAsync(SchoolHost service, string target, params string[] more)
    {
        var done = await BackupCommand.RunAsync(["restore", BackupFile, .. more], target, said, said, service.Services);
        await (done == 0 ? GrantAsync(target) : Task.CompletedTask);
        return done;
    }

    /// <summary>As the program does after a restore.</summary>
    private Task GrantAsync(string target) => ServiceRights.GrantAsync(new(postgres.AsService(target), target), CancellationToken.None);

    private sealed record Held(Person Office, Guid Pupil, string Cookie, string Token, string Feed, string Link);

    /// <summary>A cookie, a token, a calendar address, a link that sets a password, and a guarded note.</summary>
    private static async Task<Held> HoldAsync(SchoolHost host)
    {
        var office = await host.Data.OfficeAsync();
        var pupil = await host.Data.PupilAsync();
        var token = await host.TokenAsync(office);
        using var api = await host.ApiAsAsync(office);
        var feed = await (await api.PostAsJsonAsync("/api/v1/feeds", new { pupilId = pupil.Id, detail = "full" })).JsonAsync();
        await using var scope = host.Services.CreateAsyncScope();
        var note = scope.ServiceProvider.GetRequiredService<Sealer>().Seal(Note);
        await host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == pupil.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.HealthNotesSealed, note)));
        var people = scope.ServiceProvider.GetRequiredService<UserManager<Person>>();
        var link = await people.GeneratePasswordResetTokenAsync((await people.FindByIdAsync(office.Id.ToString()))!);
        return new(office, pupil.Id, await CookieOf.SignedInAsync(host, office), token, new Uri(feed.GetProperty("url").GetString()!).PathAndQuery, link);
    }

    /// <summary>Whether cookie, token, calendar address and link open this service.</summary>
    private static async Task<bool[]> OpensAsync(SchoolHost host, Held held)
    {
        using var client = host.Anonymous();
        var cookie = (await CookieOf.AskAsync(host, "/people/office", held.Cookie)).StatusCode == HttpStatusCode.OK;
        var feed = (await client.GetAsync(held.Feed)).StatusCode == HttpStatusCode.OK;
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", held.Token);
        var token = (await client.GetAsync("/api/v1/pupils")).StatusCode == HttpStatusCode.OK;
        await using var scope = host.Services.CreateAsyncScope();
        var people = scope.ServiceProvider.GetRequiredService<UserManager<Person>>();
        var person = (await people.FindByIdAsync(held.Office.Id.ToString()))!;
        var link = await people.VerifyUserTokenAsync(person, people.Options.Tokens.PasswordResetTokenProvider, UserManager<Person>.ResetPasswordTokenPurpose, held.Link);
        return [cookie, token, feed, link];
    }

    private static async Task<string?> NoteAsync(SchoolHost host, Guid pupil)
    {
        await using var scope = host.Services.CreateAsyncScope();
        var text = await host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == pupil).Select(p => p.HealthNotesSealed).SingleAsync());
        return scope.ServiceProvider.GetRequiredService<Sealer>().Open(text);
    }
}
