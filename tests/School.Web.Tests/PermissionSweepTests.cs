using System.Net;
using System.Net.Http.Headers;
using System.Runtime.CompilerServices;
using NodaTime;
using School.Core.Diary.Time;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Web.Tests;

/// <summary>
/// Walks every route of the endpoint table with every hat, every part of the office and several together; a new route is walked without being
/// named here.
/// </summary>
public sealed class PermissionSweepTests(TestPostgres postgres)
{
    private const string SignInPage = "/people/sign-in";
    private const string NotAllowedPage = "/people/not-allowed";

    /// <summary>Shows what went wrong with a form whose token was the trouble, so it cannot ask for one; it changes nothing.</summary>
    private const string WithoutAntiforgery = "GET /error/{status:int?}";

    [Fact]
    public async Task Every_route_says_who_may_and_only_reviewed_ones_are_open_to_anybody()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var routes = await SweptRoute.AllAsync(host.Services);
        Assert.Equal([], routes.Where(route => !route.Anonymous && route.Permission is null).Select(route => route.Name));
        Assert.Equal(Reviewed(), routes.Where(route => route.Anonymous).Select(route => route.Name).Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task Every_route_opens_to_the_hats_of_its_permission_and_to_nobody_else()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var routes = await SweptRoute.AllAsync(host.Services);
        var wrong = new List<string>();
        foreach (var visitor in await VisitorsAsync(host))
        {
            foreach (var route in routes)
            {
                using var answer = await visitor.VisitAsync(route);
                wrong.AddRange(Problems(route, visitor.Viewer, answer).Select(problem => $"{visitor.Name} {route.Name}: {(int)answer.StatusCode} {problem}"));
            }
        }

        Assert.True(wrong.Count == 0, string.Join('\n', wrong));
    }

    [Fact]
    public void What_each_hat_and_part_allows_is_as_reviewed()
    {
        string[] hats = [.. Enum.GetValues<Permission>().Select(permission => $"{permission}: {string.Join(", ", Permissions.Who([permission]))}")];
        Assert.Equal(Lines("permissions.txt"), hats.Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task Every_form_handler_refuses_a_form_without_its_token()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var routes = await SweptRoute.AllAsync(host.Services);
        var writes = routes.Where(route => route.IsPage && route.IsWrite).ToList();
        Assert.NotEmpty(writes);
        Assert.Equal([WithoutAntiforgery], routes.Where(route => route.IsPage && !route.Antiforgery).Select(route => route.Name));
        foreach (var visitor in await VisitorsAsync(host))
        {
            foreach (var route in writes.Where(route => route.Allows(visitor.Viewer)))
            {
                using var answer = await visitor.VisitAsync(route);
                Assert.True(answer.StatusCode == HttpStatusCode.BadRequest, $"{visitor.Name} {route.Name}: {(int)answer.StatusCode}");
            }
        }
    }

    [Fact]
    public async Task Rows_of_somebody_else_are_not_found()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var routes = await SweptRoute.AllAsync(host.Services);
        foreach (var (prefix, make) in OwnRows)
        {
            var (id, owner, stranger) = await make(host);
            var reads = routes.Where(route => route.Method == "GET" && route.HasId && !route.IsPage
                && route.Template.StartsWith(prefix, StringComparison.Ordinal) && route.Allows(Proven.Of(owner).Viewer)).ToList();
            Assert.NotEmpty(reads);
            using var own = await host.ApiAsAsync(owner);
            using var foreign = await host.ApiAsAsync(stranger);
            foreach (var route in reads)
            {
                Assert.True(route.HasInnerId || (await own.GetAsync(Asked(route, id))).StatusCode == HttpStatusCode.OK, $"{owner.Name} {route.Name}: their own row");
                Assert.True((await foreign.GetAsync(Asked(route, id))).StatusCode == HttpStatusCode.NotFound, $"{stranger.Name} {route.Name}: somebody else's row");
            }
        }
    }

    /// <summary>Of every row of a pupil, somebody beside that pupil meets those that the pupil lets them see, and nobody's else.</summary>
    [Theory]
    [InlineData("", "")]
    [InlineData("Lessons", "GET /api/v1/lessons/{id:guid}")]
    [InlineData("Progress", "GET /api/v1/pupils/{id:guid}/progress")]
    [InlineData("Money", "GET /api/v1/pupils/{id:guid}/account")]
    [InlineData("Lessons Progress Money", "GET /api/v1/lessons/{id:guid}, GET /api/v1/pupils/{id:guid}/account, GET /api/v1/pupils/{id:guid}/progress")]
    public async Task Somebody_beside_a_pupil_meets_the_rows_that_this_pupil_lets_them_see_and_no_others(string sees, string expected)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var routes = await SweptRoute.AllAsync(host.Services);
        var open = new List<string>();
        foreach (var (prefix, make) in OwnRows)
        {
            var (id, owner, stranger) = await make(host);
            SeenOfPupil[] allowed = [.. sees.Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(Enum.Parse<SeenOfPupil>)];
            // Beside two pupils: what one allows opens nothing of the other, who allows nothing.
            using var beside = await host.ApiAsAsync(await host.Data.BesideAsync($"Rowan {id:N}"[..12], (owner.PupilId!.Value, allowed), (stranger.PupilId!.Value, [])));
            using var other = await host.ApiAsAsync(await host.Data.BesideAsync($"Carys {id:N}"[..12], (stranger.PupilId!.Value, Enum.GetValues<SeenOfPupil>())));
            foreach (var route in routes.Where(route => !route.IsPage && !route.Anonymous && route.HasId && route.Template.StartsWith(prefix, StringComparison.Ordinal)))
            {
                foreach (var (api, theirs) in new[] { (beside, true), (other, false) })
                {
                    using var answer = await new Visitor("", null, api, api).VisitAsync(route, id);
                    if (answer.StatusCode is not (HttpStatusCode.Forbidden or HttpStatusCode.NotFound))
                    {
                        open.Add($"{(theirs ? "" : "of a stranger: ")}{route.Name}");
                    }
                }
            }
        }

        Assert.Equal(expected, string.Join(", ", open.Order(StringComparer.Ordinal)));
    }

    /// <summary>With what a question cannot do without.</summary>
    private static string Asked(SweptRoute route, Guid id) => route.Url(id) + (route.Template.EndsWith("/charge", StringComparison.Ordinal) ? "?act=cancel" : "");

    /// <summary>Rows that only some may see, by the beginning of their address: how to make one, whose it is, and who is a stranger to it.</summary>
    private static readonly (string Prefix, Func<SchoolHost, Task<(Guid Id, Person Owner, Person Stranger)>> Make)[] OwnRows =
    [
        ("/api/v1/pupils/{id:guid}", async host =>
        {
            var pupil = await host.Data.PupilAsync();
            await host.ShareForecastAsync(pupil);
            await host.OpenBooksAsync();
            return (pupil.Id, await host.Data.PersonAsync(pupil), await host.Data.PersonAsync(await host.Data.PupilAsync("Bryony Vale")));
        }),
        ("/api/v1/lessons/{id:guid}", async host =>
        {
            var instructor = await host.Data.InstructorAsync("Alder Fenwick");
            var pupil = await host.Data.PupilAsync("Corin Marsh");
            var start = host.Clock.GetCurrentInstant() + Duration.FromDays(7);
            var lesson = Lesson.Book(
                pupil.Id, instructor.Id, (await host.Data.CarAsync()).Id, new(start, start + Duration.FromHours(1)), pupil.PickUp, pupil.PickUp, host.Clock.GetCurrentInstant());
            await host.AddAsync(lesson);
            return (lesson.Id, await host.Data.PersonAsync(pupil), await host.Data.PersonAsync(await host.Data.PupilAsync("Linnet Brook")));
        }),
        ("/api/v1/test-days/{id:guid}", async host =>
        {
            var pupil = await host.Data.PupilAsync("Alder Reeve");
            var facts = new TestDayFacts(
                host.Clock.GetCurrentInstant() + Duration.FromDays(30), Duration.FromMinutes(40), 60, 20, TestData.PlaceAt(), Nation.Scotland, pupil.PickUp, false, "",
                pupil.Gearbox!.Value, null, null, OwnCar: true);
            var test = TestDay.Enter(pupil.Id, facts, host.Clock.GetCurrentInstant());
            await host.AddAsync(test);
            return (test.Id, await host.Data.PersonAsync(pupil), await host.Data.PersonAsync(await host.Data.PupilAsync("Sorrel Finch")));
        }),
        ("/api/v1/mock-tests/{id:guid}", async host =>
        {
            var pupil = await host.Data.PupilAsync("Perrin Lark");
            var mock = await host.Data.MockTestAsync(pupil.Id);
            return (mock.Id, await host.Data.PersonAsync(pupil), await host.Data.PersonAsync(await host.Data.PupilAsync("Clover Ash")));
        }),
    ];

    private static IEnumerable<string> Problems(SweptRoute route, Viewer? viewer, HttpResponseMessage answer)
    {
        var to = answer.Headers.Location?.OriginalString ?? "";
        var toSignIn = to.Contains(SignInPage, StringComparison.Ordinal) && answer.StatusCode == HttpStatusCode.Redirect;
        if ((int)answer.StatusCode >= 500 && route.Template != "/health/ready")
        {
            yield return "is an error of ours";
        }

        if (!route.Allows(viewer))
        {
            var api = route.Template.StartsWith("/api/v1", StringComparison.Ordinal);
            var refused = (api, viewer) switch
            {
                (true, null) => answer.StatusCode == HttpStatusCode.Unauthorized,
                (true, _) => answer.StatusCode == HttpStatusCode.Forbidden,
                (false, null) => toSignIn,
                (false, _) => answer.StatusCode == HttpStatusCode.Redirect && to.Contains(NotAllowedPage, StringComparison.Ordinal),
            };
            if (!refused)
            {
                yield return "should be refused";
            }
        }
        else
        {
            if (!route.Anonymous && (toSignIn || to.Contains(NotAllowedPage, StringComparison.Ordinal)
                || answer.StatusCode is HttpStatusCode.Unauthorized or HttpStatusCode.Forbidden))
            {
                yield return "should be open";
            }

            if (route.HasId && route.Method == "GET" && answer.StatusCode != HttpStatusCode.NotFound)
            {
                yield return "an unknown id should not be found";
            }

            if (route.HasId && route.IsWrite && (int)answer.StatusCode is < 400 or >= 500)
            {
                yield return "a change to an unknown id should be refused";
            }
        }

        foreach (var header in new[] { "Content-Security-Policy", "X-Content-Type-Options", "Referrer-Policy", "X-Frame-Options", "Cross-Origin-Opener-Policy", "Permissions-Policy" })
        {
            if (!answer.Headers.Contains(header))
            {
                yield return $"has no {header}";
            }
        }

        if (!route.Anonymous && answer.Headers.CacheControl is not { NoStore: true } and not { Private: true, NoCache: true })
        {
            yield return "may rest in a cache";
        }

        if (route.IsPage && answer.Headers.CacheControl?.NoStore != true)
        {
            yield return "is a page that may be kept";
        }
    }

    private static async Task<IReadOnlyList<Visitor>> VisitorsAsync(SchoolHost host)
    {
        var visitors = new List<Visitor> { new("Anonymous", null, host.Anonymous(), host.Anonymous()) };
        foreach (var (parts, teaches, learns, beside) in Wardrobes)
        {
            var instructor = teaches ? await host.Data.InstructorAsync() : null;
            var pupil = learns ? await host.Data.PupilAsync() : null;
            // Beside a pupil who lets them see everything: what is refused is so because of the hat, not of the row.
            var contact = beside ? await host.Data.ContactAsync("Rowan Oakley", ((await host.Data.PupilAsync("Wren Oakley")).Id, Enum.GetValues<SeenOfPupil>())) : null;
            var name = string.Join(" and ", HatWords.Of(parts, teaches, learns, beside));
            var person = await host.Data.WearerAsync(name, $"wearer{visitors.Count}@larkfield.example", parts, instructor?.Id, pupil?.Id, contact: contact?.Id);
            visitors.Add(new(name, Proven.Of(person).Viewer, await host.PagesAsAsync(person), await host.ApiAsAsync(person)));
        }

        return visitors;
    }

    /// <summary>Each hat, each part of the office, and who wears several.</summary>
    private static readonly (OfficeParts Parts, bool Teaches, bool Learns, bool Beside)[] Wardrobes =
    [
        (OfficeParts.None, false, true, false),
        (OfficeParts.None, false, false, true),
        (OfficeParts.None, true, false, false),
        (OfficeParts.All, false, false, false),
        .. Enum.GetValues<OfficePart>().Select(part => (new[] { part }.Together(), false, false, false)),
        // The owner who teaches; an instructor who learns; a pupil who helps with the money, with people; an instructor who keeps the settings;
        // a parent who learns, an instructor whose child does, one of the office with a nephew here.
        (OfficeParts.All, true, false, false),
        (OfficeParts.None, true, true, false),
        (OfficeParts.Money, false, true, false),
        (OfficeParts.People, false, true, false),
        (OfficeParts.Settings, true, false, false),
        (OfficeParts.None, false, true, true),
        (OfficeParts.None, true, false, true),
        (OfficeParts.Money, false, false, true),
        (OfficeParts.All, true, true, true),
    ];

    private static IEnumerable<string> Reviewed() => Lines("anonymous-routes.txt").Select(line => string.Join(' ', line.Split(' ', StringSplitOptions.RemoveEmptyEntries)))
        .Order(StringComparer.Ordinal);

    private static IEnumerable<string> Lines(string file, [CallerFilePath] string here = "") =>
        File.ReadAllLines(Path.Combine(Path.GetDirectoryName(here)!, file)).Where(line => line.Length > 0 && line[0] != '#').Order(StringComparer.Ordinal);

    private sealed record Visitor(string Name, Viewer? Viewer, HttpClient Pages, HttpClient Api)
    {
        public Task<HttpResponseMessage> VisitAsync(SweptRoute route, Guid? id = null)
        {
            var url = route.Url(id) + (route.Template.EndsWith("/charge", StringComparison.Ordinal) ? "?act=cancel" : "");
            var request = new HttpRequestMessage(new HttpMethod(route.Method == "*" ? "GET" : route.Method), url);
            if (route.IsWrite)
            {
                request.Content = route.IsPage ? new FormUrlEncodedContent([]) : new StringContent("{}", new MediaTypeHeaderValue("application/json"));
                request.Headers.TryAddWithoutValidation("If-Match", "\"1\"");
            }

            return (url.StartsWith("/api/v1", StringComparison.Ordinal) ? Api : Pages).SendAsync(request, route.Streams ? HttpCompletionOption.ResponseHeadersRead : HttpCompletionOption.ResponseContentRead);
        }
    }
}
