using School.Web.Modules.Pupils;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Clashes;

internal static class PupilRecipes
{
    private const string Contacts = "/api/v1/contacts";
    private static readonly object Mill = new { label = "Mill Lane", address = "12 Mill Lane, Larkfield", latitude = 52.4, longitude = -1.2 };

    public static IEnumerable<Recipe> All =>
    [
        new("AddPupil", world => Task.FromResult(Act.Api(world.Office, Post, "/api/v1/pupils", Tamsin(world.Next()), etag: null))),
        new("ChangePupil", async world => Act.Api(world.Office, Put, Url(await world.PupilAsync()), Tamsin(world.Next()))),
        new("ChangeContact", async world => Act.Api(
            world.Office, Put, $"{Url(await world.PupilAsync())}/contact", new { email = $"oak{world.Next()}@larkfield.example", phone = "01632 960003", pickUp = Mill })),
        new("ChangeTeaching", async world => Act.Api(world.Office, Put, $"{Url(await world.PupilAsync())}/teaching", new { need = "Roundabouts", notes = "Likes maps." })),
        new("ChangeGuarded", async world => Act.Api(world.Office, Put, $"{Url(await world.PupilAsync())}/guarded", new { healthNotes = "Wears glasses." })),
        new("ReadGuarded", async world => Act.Api(world.Office, Get, $"{Url(await world.PupilAsync())}/guarded", takesKey: false)),
        new("ChangePapers", async world => Act.Api(world.Office, Put, $"{Url(await world.PupilAsync())}/papers", new { licenceCheckedOn = "2026-01-31" })),
        new("ChangeAvailability", async world => Act.Api(
            world.Office, Put, $"{Url(await world.PupilAsync())}/availability", new { times = new[] { new { day = "thursday", from = "17:00", to = "20:30" } } })),
        new("CheckEyesight", async world => Act.Api(world.Office, Post, $"{Url(await world.PupilAsync())}/eyesight-check", new { on = "2026-03-02" })),
        new("OpenByReason", async world => Act.Api(
            await world.Host.ApiAsAsync(await world.Data.PersonAsync(await world.Data.InstructorAsync($"Piers Anstey {world.Next()}"))), Post,
            $"{Url(await world.PupilAsync())}/access", new { reason = "They called me about a lesson." }, etag: null)),
        new("AddContact", world => Task.FromResult(Act.Api(world.Office, Post, Contacts, Bram(world), etag: null))),
        new("ChangeContactDetails", async world => Act.Api(world.Office, Put, $"{Contacts}/{await ContactAsync(world)}", Bram(world))),
        new("PutBeside", async world => Act.Api(
            world.Office, Put, $"{Url(await world.PupilAsync())}/contacts/{await ContactAsync(world)}", new { relation = "father", sees = new[] { "lessons" }, getsLetters = true }, etag: null)),
        new("InviteBeside", async world =>
        {
            var url = $"{Url(await world.PupilAsync())}/contacts/{await ContactAsync(world)}";
            (await world.Office.SendJsonAsync(Put, url, new { sees = new[] { "lessons" } })).EnsureSuccessStatusCode();
            return Act.Api(world.Office, Post, $"{url}/invitation", etag: null);
        }),
        new("RemoveContact", async world => Act.Api(world.Office, Delete, $"{Contacts}/{await ContactAsync(world)}")),
        // Beside nobody else: forgotten with it.
        new("RemoveBeside", BesideNoMoreAsync),
        new("ForgetContact", BesideNoMoreAsync),
        new("RetirePupil", async world =>
        {
            var pupil = await world.PupilAsync();
            await world.Data.PersonAsync(pupil);
            return Act.Api(world.Office, Post, $"{Url(pupil)}/retire");
        }),
        new("TakeBackPupil", async world =>
        {
            var pupil = await world.PupilAsync();
            (await world.Office.PostAsync($"{Url(pupil)}/retire", null)).EnsureSuccessStatusCode();
            return Act.Api(world.Office, Post, $"{Url(pupil)}/take-back");
        }),
    ];

    private static async Task<Act> BesideNoMoreAsync(World world)
    {
        var url = $"{Url(await world.PupilAsync())}/contacts/{await ContactAsync(world)}";
        (await world.Office.SendJsonAsync(Put, url, new { sees = new[] { "lessons" }, getsLetters = true })).EnsureSuccessStatusCode();
        return Act.Api(world.Office, Delete, url);
    }

    private static async Task<Guid> ContactAsync(World world)
    {
        using var made = await world.Office.SendJsonAsync(Post, Contacts, Bram(world));
        return (await made.EnsureSuccessStatusCode().JsonAsync()).GetProperty("id").GetGuid();
    }

    private static object Bram(World world) => new { name = $"Bram Oakley {world.Next()}", email = "bram@larkfield.example", kind = "parent" };

    private static string Url(Pupil pupil) => $"/api/v1/pupils/{pupil.Id}";

    private static object Tamsin(int n) => new
    {
        name = $"Tamsin Oakley {n}",
        email = $"tamsin{n}@larkfield.example",
        phone = "01632 960123",
        birthDate = "2007-05-04",
        gearbox = "manual",
        provisionalFrom = "2024-05-04",
        pickUp = Mill,
    };
}
