using Microsoft.Extensions.DependencyInjection;
using School.Web.Modules.Office;
using School.Web.Modules.People;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Clashes;

internal static class PeopleRecipes
{
    public static IEnumerable<Recipe> All =>
    [
        new("AddInstructor", world => Task.FromResult(Act.Api(world.Office, Post, "/api/v1/instructors", Marigold(world.Next()), etag: null))),
        new("ChangeInstructor", async world => Act.Api(world.Office, Put, Url(await world.InstructorAsync()), Marigold(world.Next()))),
        new("ServeAreas", async world =>
        {
            using var made = await world.Office.SendJsonAsync(Post, "/api/v1/areas", new { name = $"Harbour {world.Next()}", districts = new[] { $"EX{(world.Next() % 90) + 1}" } });
            var area = (await DiaryApi.JsonAsync(made, System.Net.HttpStatusCode.Created)).Id();
            return Act.Api(world.Office, Put, $"{Url(await world.InstructorAsync())}/areas", new { areaIds = new[] { area } });
        }),
        new("RetireInstructor", async world =>
        {
            var instructor = await world.InstructorAsync();
            await world.Data.PersonAsync(instructor);
            return Act.Api(world.Office, Post, $"{Url(instructor)}/retire", new { on = "2026-03-02" });
        }),
        new("ChangeHats", async world =>
        {
            var person = await world.Data.PersonAsync(await world.PupilAsync());
            return Act.Api(world.Office, Put, $"/api/v1/sign-ins/{person.Id}/hats", new { parts = new[] { "diary" }, pupilId = person.PupilId });
        }),
        new("InvitePerson", async world =>
        {
            var page = $"/people/instructors/{(await world.InstructorAsync()).Id}";
            return await Act.PageAsync(world.OfficePages, page, $"{page}?handler=Invite");
        }),
        new("ChangePassword", async world =>
        {
            var browser = await world.Host.PagesAsAsync(await world.Data.PersonAsync(await world.PupilAsync()));
            return await Act.PageAsync(browser, "/people/account", "/people/account?handler=Password", ("Present", SchoolHost.Password), ("Password", Chosen));
        }),
        new("CloseSignIn", async world =>
        {
            var instructor = await world.InstructorAsync();
            await world.Data.PersonAsync(instructor);
            var page = $"/people/instructors/{instructor.Id}";
            return await Act.PageAsync(world.OfficePages, page, $"{page}?handler=Close");
        }),
        new("CheckPassword", async world =>
        {
            var pupil = await world.Data.PersonAsync(await world.PupilAsync());
            return await Act.PageAsync(
                world.Host.Browser(), "/people/sign-in", "/people/sign-in", ("Input.Email", pupil.Email!), ("Input.Password", SchoolHost.Password));
        }),
        new("NameSchool", world => Task.FromResult(Act.Verb<NameSchool, SchoolFacts>(
            world.Host, name => name.RunAsync(world.Viewer, new($"Larkfield Driving School {world.Next()}", "Europe/London", "england-and-wales"), default)))),
        new("SayWho", async world =>
        {
            await AloneNoMoreAsync(world);
            return Act.Verb<SayWho, SchoolFacts>(
                world.Host, say => say.RunAsync(world.Viewer, new(true, new($"Larkfield Driving School {world.Next()}", "Europe/London", "england-and-wales")), default));
        }),
        new("TeachToo", async world =>
        {
            await AloneNoMoreAsync(world);
            return Act.Verb<TeachToo, InstructorCard>(world.Host, teach => teach.RunAsync(world.Viewer, default));
        }),
        new("AskReached", async world =>
        {
            await world.SqlAsync("TRUNCATE platform.attempt_counts");
            await world.SqlAsync("UPDATE messages.messages SET state = 'Withdrawn' WHERE kind = 'reached'");
            return await Act.PageAsync(world.OfficePages, "/people/account/letters", "/people/account/letters");
        }),
        new("NoteReached", async world =>
        {
            await world.SqlAsync("TRUNCATE platform.attempt_counts");
            await world.SqlAsync("UPDATE people.people SET reached_at = NULL");
            (await world.OfficePages.PostFormAsync("/people/account/letters")).Dispose();
            var mail = (await world.Host.SaidAsync(all => all.Where(m => m.Kind == "reached").OrderBy(m => m.Id)))[^1];
            var link = System.Text.RegularExpressions.Regex.Match(mail.Text, @"/people/reached\S+").Value;
            return await Act.PageAsync(world.OfficePages, link, link);
        }),
        new("SaveSchool", async world =>
        {
            Assert.True((await (await SchoolAsync(world)).RunAsync(null)).Done);
            return await SchoolAsync(world);
        }),
    ];

    /// <summary>Last of all: nobody has a password afterwards.</summary>
    public static IEnumerable<Recipe> First =>
    [
        new("BeginHere", async world =>
        {
            await world.SqlAsync("TRUNCATE platform.attempt_counts");
            await world.SqlAsync("UPDATE people.people SET password_hash = NULL, last_sign_in = NULL");
            var n = world.Next();
            using var scope = world.Host.Services.CreateScope();
            var code = scope.ServiceProvider.GetRequiredService<FirstCode>().Words;
            return await Act.PageAsync(
                world.Host.Browser(), "/people/first-sign-in", "/people/first-sign-in", ("Input.Code", code), ("Input.Name", "Ada Rook"), ("Input.Email", $"ada{n}@larkfield.example"),
                ("Input.Password", Chosen));
        }),
    ];

    private static async Task AloneNoMoreAsync(World world)
    {
        await world.SqlAsync($"UPDATE people.people SET instructor_id = NULL WHERE id = '{world.Viewer.PersonId}'");
        await world.SqlAsync($"UPDATE people.instructors i SET email = 'former{world.Next()}@larkfield.example' WHERE EXISTS (SELECT FROM people.people p WHERE p.email = i.email AND p.id = '{world.Viewer.PersonId}')");
    }

    private const string Chosen = "four winds over larkfield";

    private static async Task<Act> SchoolAsync(World world)
    {
        var version = await world.NumberAsync("SELECT version AS \"Value\" FROM people.school");
        return await Act.PageAsync(
            world.OfficePages, "/people/school", "/people/school", ("Version", $"{version}"), ("Input.Name", $"Larkfield Driving School {world.Next()}"),
            ("Input.Zone", "Europe/London"), ("Input.Nation", "england-and-wales"));
    }

    private static string Url(Instructor instructor) => $"/api/v1/instructors/{instructor.Id}";

    private static object Marigold(int n) => new
    {
        name = $"Marigold Fenn {n}",
        email = $"marigold{n}@larkfield.example",
        phone = "01632 960123",
        teaches = new[] { "manual" },
        registration = "approved",
        registrationNumber = $"AB{n}",
        registeredTo = "2028-12-31",
        @base = new { label = "Mill Lane", address = "12 Mill Lane, Larkfield", latitude = 52.4, longitude = -1.2 },
    };
}
