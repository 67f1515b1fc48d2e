using System.Net;
using System.Net.Http.Headers;
using Microsoft.AspNetCore.Routing.Patterns;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Pupils;
using School.Web.Platform.Access;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Pupils;

/// <summary>
/// Walks every route of the endpoint table with everything there is about one pupil, and looks in each answer for what is theirs. The clock stands at Monday 2 March 2026.
/// </summary>
public sealed class FranchiseSweepTests(TestPostgres postgres)
{
    /// <summary>What a reason opens, by words that stand nowhere else: contact, places and record.</summary>
    private static readonly string[] Opened =
    [
        "960777", "wren.hidden@larkfield.example", "Thistle Row", "Gorse Yard", "960778", "Aunt Hyacinth", "mother.hidden@larkfield.example", "Roundabouts, unhurried", "Likes the window open",
        "Bay parking went well", "Told them privately", "Uncle Peregrine",
    ];

    /// <summary>What no reason opens: what is under seal, dates of papers, and times.</summary>
    private static readonly string[] Never =
    [
        "carries an inhaler", "2007-05-17", "17 May 2007", "2024-06-09", "9 June 2024", "2025-07-13", "13 July 2025", "06:35",
    ];

    /// <summary>Whoever is of the staff and not the pupil's own, at a school where pupils are their instructor's and at one where they are the school's.</summary>
    [Theory]
    [InlineData("Diary People Money Settings Confidential", false, true)]
    [InlineData("Diary", false, true)]
    [InlineData("People Confidential", false, true)]
    [InlineData("Diary People", true, true)]
    [InlineData("", true, true)]
    [InlineData("", true, false)]
    [InlineData("Settings Confidential", true, false)]
    public async Task No_route_tells_of_a_pupil_of_somebody_else_more_than_the_name_before_a_reason(string parts, bool teaches, bool franchise)
    {
        var known = await KnownPupil.MakeAsync(postgres);
        await using var school = known.School;
        var (viewer, api, pages) = await AsAsync(school, parts, teaches);
        using var owned = api;
        using var browser = pages;
        await FranchiseTests.SetAsync(school, franchise);
        var mine = await ReadsAsync(school, viewer);
        var before = await WalkAsync(known, mine, api, pages);
        Assert.True(before.Count == 0, string.Join('\n', before));
        await FranchiseTests.OpenAsync(api, known.PupilId);
        var after = await WalkAsync(known, mine, api, pages);
        // A reason opens what it opens, or the first walk would prove nothing; and no more.
        Assert.Equal([], Opened.Except(after.Select(one => one.Word)));
        Assert.Equal([], after.Where(one => Never.Contains(one.Word)));
    }

    /// <summary>One reason for a halt: the number, on the list to ring of that halt, and nowhere else.</summary>
    [Theory]
    [InlineData("Diary People Money Settings Confidential", false)]
    [InlineData("Diary", false)]
    [InlineData("Diary People", true)]
    public async Task The_reason_for_a_halt_opens_the_number_on_its_list_and_on_no_other_route(string parts, bool teaches)
    {
        var known = await KnownPupil.MakeAsync(postgres);
        await using var school = known.School;
        var (viewer, api, pages) = await AsAsync(school, parts, teaches);
        using var owned = api;
        using var browser = pages;
        await FranchiseTests.SetAsync(school, true);
        using (var opened = await api.SendJsonAsync(Post, $"/api/v1/halts/{known.HaltId}/numbers", new { reason = "No letter reached them." }))
        {
            Assert.Equal(HttpStatusCode.OK, opened.StatusCode);
        }

        var told = await WalkAsync(known, await ReadsAsync(school, viewer), api, pages);
        string[] lists = [$"/api/v1/halts/{known.HaltId}", $"/diary/halts/{known.HaltId}"];
        Assert.Equal(lists.Select(list => (list, "960777")), told.Select(one => (one.Url.Split('?')[0], one.Word)).Distinct().Order());
    }

    /// <summary>Whoever keeps no diary, and an instructor of whom no lesson was stopped, gives no reason for one.</summary>
    [Theory]
    [InlineData("People Confidential", false, HttpStatusCode.Forbidden)]
    [InlineData("Money Settings", false, HttpStatusCode.Forbidden)]
    [InlineData("", true, HttpStatusCode.NotFound)]
    public async Task The_numbers_of_a_halt_are_for_who_may_stop_its_lessons(string parts, bool teaches, HttpStatusCode refused)
    {
        var known = await KnownPupil.MakeAsync(postgres);
        await using var school = known.School;
        var (viewer, api, pages) = await AsAsync(school, parts, teaches);
        using var owned = api;
        using var browser = pages;
        await FranchiseTests.SetAsync(school, true);
        Assert.Equal(refused, (await api.SendJsonAsync(Post, $"/api/v1/halts/{known.HaltId}/numbers", new { reason = "No letter reached them." })).StatusCode);
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<PupilAccess>().CountAsync()));
        Assert.Empty(await WalkAsync(known, await ReadsAsync(school, viewer), api, pages));
    }

    /// <summary>Who sees no pupil by their part of the office opens none either.</summary>
    [Theory]
    [InlineData("Settings", false)]
    [InlineData("Settings", true)]
    [InlineData("Money Confidential", true)]
    public async Task No_route_tells_of_a_pupil_to_who_sees_none(string parts, bool franchise)
    {
        var known = await KnownPupil.MakeAsync(postgres);
        await using var school = known.School;
        var (viewer, api, pages) = await AsAsync(school, parts, teaches: false);
        using var owned = api;
        using var browser = pages;
        await FranchiseTests.SetAsync(school, franchise);
        var told = await WalkAsync(known, await ReadsAsync(school, viewer), api, pages);
        Assert.True(told.Count == 0, string.Join('\n', told));
        Assert.Equal(HttpStatusCode.Forbidden, (await FranchiseTests.AskAsync(api, known.PupilId)).StatusCode);
    }

    /// <summary>The office and a colleague, before and after a reason: a write that is refused, or done, tells no more than its reader sees.</summary>
    [Theory]
    [InlineData("Diary People Money Settings Confidential", false, true, false)]
    [InlineData("Diary People Money Settings Confidential", false, true, true)]
    [InlineData("", true, false, false)]
    [InlineData("", true, false, true)]
    public async Task No_write_is_answered_with_more_than_its_sender_sees(string parts, bool teaches, bool franchise, bool opened)
    {
        var known = await KnownPupil.MakeAsync(postgres);
        await using var school = known.School;
        var (viewer, api, pages) = await AsAsync(school, parts, teaches);
        using var owned = api;
        using var browser = pages;
        var routes = (await SweptRoute.AllAsync(school.Host.Services)).Where(route => route.IsWrite && !route.IsPage && !route.Anonymous && route.HasId && route.Allows(viewer)).ToList();
        await FranchiseTests.SetAsync(school, franchise);
        if (opened)
        {
            await FranchiseTests.OpenAsync(api, known.PupilId);
        }

        var hidden = opened ? Never : Opened.Concat(Never).ToArray();
        var told = new List<string>();
        foreach (var route in routes.Where(route => route.Template is not "/api/v1/pupils/{id:guid}/access"))
        {
            foreach (var url in known.Urls(route.Pattern))
            {
                using var request = new HttpRequestMessage(new HttpMethod(route.Method), url) { Content = new StringContent("{}", new MediaTypeHeaderValue("application/json")) };
                request.Headers.TryAddWithoutValidation("If-Match", "*");
                using var answer = await api.SendAsync(request);
                var text = await answer.Content.ReadAsStringAsync();
                told.AddRange(hidden.Where(word => text.Contains(word, StringComparison.OrdinalIgnoreCase)).Select(word => $"{route.Name}: {(int)answer.StatusCode} {word}"));
            }
        }

        Assert.True(told.Count == 0, string.Join('\n', told.Distinct()));
    }

    [Fact]
    public async Task Without_the_setting_the_office_reads_all_of_it()
    {
        var known = await KnownPupil.MakeAsync(postgres);
        await using var school = known.School;
        var routes = (await SweptRoute.AllAsync(school.Host.Services)).Where(route => !route.IsWrite && !route.Streams && !route.Anonymous).ToList();
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        var read = await WalkAsync(known, routes, school.Office, pages);
        Assert.Equal([], Opened.Concat(Never).Except(read.Select(one => one.Word)));
    }

    private static async Task<(Viewer Viewer, HttpClient Api, HttpClient Pages)> AsAsync(SmallSchool school, string parts, bool teaches)
    {
        var instructor = teaches ? await school.Host.Data.InstructorAsync("Piers Anstey") : null;
        OfficePart[] some = [.. parts.Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(Enum.Parse<OfficePart>)];
        var person = await school.Host.Data.WearerAsync("Ottilie Crane", "ottilie@larkfield.example", some.Together(), instructor?.Id);
        return (Proven.Of(person).Viewer, await school.Host.ApiAsAsync(person), await school.Host.PagesAsAsync(person));
    }

    /// <summary>What they may read. By what address somebody signs in is for whoever gives hats: they must tell people apart.</summary>
    private static async Task<List<SweptRoute>> ReadsAsync(SmallSchool school, Viewer viewer) =>
        [.. (await SweptRoute.AllAsync(school.Host.Services)).Where(route => !route.IsWrite && !route.Streams && !route.Anonymous && route.Allows(viewer) && !route.Template.StartsWith("/api/v1/sign-ins", StringComparison.Ordinal))];

    /// <summary>Which answers hold which of the words.</summary>
    private static async Task<List<Told>> WalkAsync(KnownPupil known, IEnumerable<SweptRoute> routes, HttpClient api, HttpClient pages)
    {
        var told = new List<Told>();
        foreach (var url in routes.SelectMany(route => known.Urls(route.Pattern)))
        {
            using var answer = await (url.StartsWith("/api/v1", StringComparison.Ordinal) ? api : pages).GetAsync(url);
            var text = WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync());
            told.AddRange(Opened.Concat(Never).Where(word => text.Contains(word, StringComparison.OrdinalIgnoreCase)).Select(word => new Told(url, answer.StatusCode, word)));
        }

        return told;
    }

    private sealed record Told(string Url, HttpStatusCode Status, string Word);

    /// <summary>A pupil of whom everything is known, and all that hangs on them.</summary>
    private sealed record KnownPupil(SmallSchool School, Guid PupilId, Guid HaltId, IReadOnlyList<Guid> Things, IReadOnlyList<Guid> Letters)
    {
        public static async Task<KnownPupil> MakeAsync(TestPostgres postgres)
        {
            var school = await SmallSchool.StartAsync(postgres);
            var data = school.Host.Data;
            var pupil = await data.PupilAsync("Wren Castellan", TestData.PlaceAt(2, 2, "Market Cross"), school.InstructorId);
            await school.Host.WithDbAsync(async db =>
            {
                var row = await db.Set<Pupil>().SingleAsync(p => p.Id == pupil.Id);
                (row.Email, row.Phone, row.EmergencyName, row.EmergencyPhone) = ("wren.hidden@larkfield.example", "+441632960777", "Aunt Hyacinth", "+441632960778");
                (row.Need, row.Notes, row.BirthDate, row.LicenceFrom, row.TheoryPassedOn) = ("Roundabouts, unhurried", "Likes the window open", new(2007, 5, 17), new(2024, 6, 9), new(2025, 7, 13));
                return await db.SaveChangesAsync();
            });
            using var teacher = school.Instructor;
            async Task<Guid> MadeAsync(HttpClient api, HttpMethod method, string url, object body)
            {
                using var answer = await api.SendJsonAsync(method, url, body, etag: "*");
                Assert.True(answer.IsSuccessStatusCode, $"{method} {url}: {await answer.Content.ReadAsStringAsync()}");
                var text = await answer.Content.ReadAsStringAsync();
                return text.Length > 0 && System.Text.Json.JsonDocument.Parse(text).RootElement is { ValueKind: System.Text.Json.JsonValueKind.Object } made && made.TryGetProperty("id", out var id) ? id.GetGuid() : Guid.Empty;
            }

            object elsewhere = new { label = "Market Cross", latitude = 52.401, longitude = -1.201 };
            object Lesson(Instant start) => new { pupilId = pupil.Id, instructorId = school.InstructorId, start = Text(start), minutes = 60, pickUp = elsewhere, dropOff = elsewhere };
            await MadeAsync(teacher, Put, $"/api/v1/pupils/{pupil.Id}/guarded", new { healthNotes = "Carries an inhaler." });
            await MadeAsync(teacher, Put, $"/api/v1/pupils/{pupil.Id}/availability", new { times = new[] { new { day = "monday", from = "06:35", to = "20:10" }, new { day = "wednesday", from = "06:35", to = "20:10" } } });
            var place = await MadeAsync(school.Office, Post, $"/api/v1/pupils/{pupil.Id}/places", new { label = "Gorse Yard", latitude = 52.402, longitude = -1.203 });
            var taught = await MadeAsync(school.Office, Post, "/api/v1/lessons", Lesson(London(2026, 3, 2, 10)));
            var coming = await MadeAsync(school.Office, Post, "/api/v1/lessons", Lesson(London(2026, 3, 4, 10)));
            var test = await MadeAsync(school.Office, Post, "/api/v1/test-days", new { pupilId = pupil.Id, start = Text(London(2026, 3, 18, 10)), centre = elsewhere, nation = "england-and-wales", ownCar = true });
            var waits = await MadeAsync(school.Office, Post, "/api/v1/waiting-list", new { pupilId = pupil.Id, @for = "earlierLesson" });
            var practice = await MadeAsync(teacher, Post, $"/api/v1/pupils/{pupil.Id}/practice", new { on = "2026-03-01", minutes = 60, supervisor = "Uncle Peregrine" });
            school.Host.Clock.Reset(London(2026, 3, 2, 12));
            using (var recorded = await teacher.SendJsonAsync(Put, $"/api/v1/lessons/{taught}/record", new { minutesTaught = 60, note = "Bay parking went well", privateNote = "Told them privately" }, etag: "*"))
            {
                Assert.True(recorded.IsSuccessStatusCode, await recorded.Content.ReadAsStringAsync());
            }

            var others = await MadeProposalsAsync(school, data, pupil.Id, coming);
            // Lessons and tests begin elsewhere: where those do stands in the diary.
            await school.Host.WithDbAsync(async db =>
            {
                (await db.Set<Pupil>().SingleAsync(p => p.Id == pupil.Id)).PickUp = TestData.PlaceAt(3, 3, "Thistle Row");
                return await db.SaveChangesAsync();
            });
            var mock = await data.MockTestAsync(pupil.Id);
            var contact = await data.ContactAsync("Bram Oakley", (pupil.Id, []));
            await MadeAsync(school.Office, Put, $"/api/v1/contacts/{contact.Id}", new { name = "Bram Oakley", email = "mother.hidden@larkfield.example", kind = "parent" });
            var person = await data.PersonAsync(await school.Host.WithDbAsync(db => db.Set<Pupil>().AsNoTracking().SingleAsync(p => p.Id == pupil.Id)));
            var letters = await school.Host.WithDbAsync(db => db.Set<Message>().OrderBy(m => m.Id).Select(m => m.Id).ToListAsync());
            Assert.NotEmpty(letters);
            return new(school, pupil.Id, others[0], [pupil.Id, taught, coming, test, waits, practice, mock.Id, contact.Id, place, school.InstructorId, .. others], letters);
        }

        /// <summary>What is planned about them: a halt that was carried out and reached nobody, a swap, a hand-over, a cover, and lessons every week.</summary>
        private static async Task<IReadOnlyList<Guid>> MadeProposalsAsync(SmallSchool school, TestData data, Guid pupilId, Guid coming)
        {
            var other = await data.InstructorAsync("Bryony Vale");
            var second = await data.PupilAsync("Corin Marsh", TestData.PlaceAt(2, 2, "Market Cross"), other.Id);
            var theirs = (await school.Office.BookedAsync(second.Id, other.Id, London(2026, 3, 4, 14))).Id();
            var stopped = (await school.Office.BookedAsync(pupilId, school.InstructorId, London(2026, 3, 6, 10))).Id();
            async Task<Guid> PlanAsync(string url, object body) => (await (await school.Office.SendJsonAsync(Post, url, body)).JsonAsync(HttpStatusCode.Created)).Id();
            var halt = await PlanAsync("/api/v1/halts", new { start = Text(London(2026, 3, 6, 8)), end = Text(London(2026, 3, 6, 18)), act = "cancel", reason = "weather" });
            Assert.Equal(HttpStatusCode.OK, (await school.Office.SendJsonAsync(Post, $"/api/v1/halts/{halt}/apply")).StatusCode);
            await school.Host.WithDbAsync(db => db.Set<Message>().Where(m => m.AboutId == stopped).ExecuteUpdateAsync(set => set.SetProperty(m => m.State, MessageState.Failed).SetProperty(m => m.ClosedAt, m => m.WrittenAt)));
            return
            [
                halt, stopped,
                await PlanAsync("/api/v1/swaps", new { lessonId = coming, withLessonId = theirs }),
                await PlanAsync($"/api/v1/pupils/{pupilId}/hand-over", new { instructorId = other.Id, from = "2026-03-03" }),
                await PlanAsync("/api/v1/covers", new { instructorId = school.InstructorId, start = Text(London(2026, 3, 4, 0)), end = Text(London(2026, 3, 5, 0)) }),
                await PlanAsync("/api/v1/weekly", new { book = new { pupilId, instructorId = school.InstructorId, start = Text(London(2026, 3, 9, 10)), minutes = 60, weeks = 2 } }),
            ];
        }

        /// <summary>The addresses of a route with each of the things in the first place for an id, and with each in the second beside the pupil.</summary>
        public IEnumerable<string> Urls(RoutePattern pattern)
        {
            var ids = pattern.Parameters.Count(IsId);
            var things = pattern.RawText!.Contains("messages", StringComparison.Ordinal) ? Letters : Things;
            IEnumerable<Guid[]> chosen = ids switch
            {
                0 => [[]],
                1 => things.Select(id => new[] { id }),
                _ => things.Select(id => new[] { PupilId, id }),
            };
            // The board of the jobs names no pupil, and is somebody else's page.
            return pattern.RawText!.Contains("hangfire", StringComparison.Ordinal) ? [] : chosen.Select(each => Url(pattern, each) + Query(pattern));
        }

        private string Query(RoutePattern pattern) => pattern.RawText!.EndsWith("/charge", StringComparison.Ordinal)
            ? "?act=cancel" : $"?pupil={PupilId}&pupilId={PupilId}&date=2026-03-02&from=2026-03-02&to=2026-03-08&minutes=60&instructor=all&with={School.InstructorId}";

        private static bool IsId(RoutePatternParameterPart part) => part.ParameterPolicies.Any(policy => policy.Content == "guid");

        private static string Url(RoutePattern pattern, Guid[] each)
        {
            var next = 0;
            return "/" + string.Join('/', pattern.PathSegments.Select(segment => string.Concat(segment.Parts.Select(part => part switch
            {
                RoutePatternLiteralPart literal => literal.Content,
                RoutePatternSeparatorPart separator => separator.Content,
                RoutePatternParameterPart parameter when IsId(parameter) => each[Math.Min(next++, each.Length - 1)].ToString(),
                RoutePatternParameterPart { Name: "date" } => "2026-03-02",
                RoutePatternParameterPart { IsOptional: true } => "",
                RoutePatternParameterPart { IsCatchAll: true } => "",
                _ => "nothing-here",
            }))).Where(part => part.Length > 0));
        }
    }
}
