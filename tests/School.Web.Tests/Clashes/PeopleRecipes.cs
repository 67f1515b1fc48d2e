using School.Web.Modules.People;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Clashes;

internal static class PeopleRecipes
{
    public static IEnumerable<Recipe> All =>
    [
        new("AddInstructor", world => Task.FromResult(Act.Api(world.Office, Post, "/api/v1/instructors", Marigold(world.Next()), etag: null))),
        new("ChangeInstructor", async world => Act.Api(world.Office, Put, Url(await world.InstructorAsync()), Marigold(world.Next()))),
        new("RetireInstructor", async world =>
        {
            var instructor = await world.InstructorAsync();
            await world.Data.PersonAsync(instructor);
            return Act.Api(world.Office, Post, $"{Url(instructor)}/retire", new { on = "2026-03-02" });
        }),
    ];

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
