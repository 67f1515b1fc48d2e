using System.Net;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using School.Core.Cars;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;
using static School.Web.Tests.Diary.Swaps.SwapSchool;

namespace School.Web.Tests.Diary.Swaps;

/// <summary>The pages of a swap, and that nobody learns there, in a letter or from a refusal who the other pupil is.</summary>
public sealed partial class SwapPageTests(TestPostgres postgres)
{
    [Fact]
    public async Task Staff_choose_the_other_lesson_by_day_and_propose()
    {
        await using var school = await StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var chooser = $"/diary/swaps?lessonId={school.Ten}";
        Assert.Contains($"href=\"{chooser}\"", await (await office.GetAsync($"/diary/lessons/{school.Ten}")).TextAsync(), StringComparison.Ordinal);
        var list = await (await office.GetAsync(chooser)).TextAsync();
        Assert.Contains("Idris Bell</a>", list, StringComparison.Ordinal);
        Assert.Contains("Wren Castellan</a>", list, StringComparison.Ordinal);
        Assert.DoesNotContain("Idris Bell</a>", await (await office.GetAsync($"{chooser}&on=2026-03-04")).TextAsync(), StringComparison.Ordinal);
        // Neither the past nor more than 14 days ahead is looked at.
        Assert.Contains("Monday 16 March", await (await office.GetAsync($"{chooser}&on=2027-01-01")).TextAsync(), StringComparison.Ordinal);

        var confirm = $"{chooser}&with={school.HalfPastOne}";
        var shown = await (await office.GetAsync(confirm)).TextAsync();
        Assert.Contains("Tuesday 3 March, 08:00", shown, StringComparison.Ordinal);
        var proposed = await office.PostFormAsync(confirm, ("agreed", $"{school.Ten}"));
        Assert.Equal(HttpStatusCode.Redirect, proposed.StatusCode);
        var page = await (await office.GetAsync(proposed.Headers.Location!.ToString())).TextAsync();
        Assert.Contains("✓ agreed", page, StringComparison.Ordinal);
        Assert.Contains("Agreed by phone: Wren Castellan, swap now", page, StringComparison.Ordinal);
        Assert.Contains("Open that swap", await (await office.PostFormAsync(confirm, ("agreed", $"{school.Ten}"))).TextAsync(), StringComparison.Ordinal);

        var url = proposed.Headers.Location!.ToString();
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(url, $"{url}?handler=yes", ("lessonId", $"{school.HalfPastOne}"))).StatusCode);
        Assert.Equal(Swapped, await school.PlacesAsync());
        Assert.Contains("✓ swapped", await (await office.GetAsync("/diary/swaps")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_lesson_that_cannot_change_places_is_not_offered_and_says_why_not()
    {
        await using var school = await StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.Idris.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.EyesightFailedOn, new NodaTime.LocalDate(2026, 2, 20)).SetProperty(p => p.EyesightCheckedOn, (NodaTime.LocalDate?)null)));
        var list = await (await office.GetAsync($"/diary/swaps?lessonId={school.Ten}")).TextAsync();
        Assert.Contains("Wren Castellan</a>", list, StringComparison.Ordinal);
        Assert.DoesNotContain("Idris Bell</a>", list, StringComparison.Ordinal);
        Assert.Contains("1 lesson that cannot change places with it", list, StringComparison.Ordinal);
        Assert.Contains("could not read a number plate", list.Split("Lessons that cannot change places")[1], StringComparison.Ordinal);

        // What is offered can be done, and what is not cannot, as proposing says; and then the lessons of that swap are not offered for another.
        Assert.Equal(["none", "none"], await ActsAsync(school, school.Two));
        Assert.Equal(["move", "move"], await ActsAsync(school, school.HalfPastOne));
        list = await (await office.GetAsync($"/diary/swaps?lessonId={school.Ten}")).TextAsync();
        Assert.DoesNotContain("Wren Castellan</a>", list, StringComparison.Ordinal);
        Assert.Contains("in a swap that is not settled yet", list, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Lessons_that_would_overlap_in_each_others_place_are_not_offered()
    {
        await using var school = await StartAsync(postgres);
        // From a quarter past eleven for two hours: at ten it would run into the hour at a quarter past eleven.
        var long_ = (await school.Office.BookedAsync(school.Wren.Id, school.Marigold.Id, London(2026, 3, 4, 11, 30), 120)).Id();
        var short_ = (await school.Office.BookedAsync(school.Tamsin.Id, school.Marigold.Id, London(2026, 3, 4, 10), 60)).Id();
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var list = await (await office.GetAsync($"/diary/swaps?lessonId={short_}")).TextAsync();
        Assert.DoesNotContain("Wren Castellan</a>", list, StringComparison.Ordinal);
        Assert.Contains("would overlap in each other", list, StringComparison.Ordinal);
        var made = await (await school.Office.SendJsonAsync(HttpMethod.Post, Address, new { lessonId = short_, withLessonId = long_ })).JsonAsync(HttpStatusCode.Created);
        Assert.All(made.GetProperty("lines").EnumerateArray(), line => Assert.Equal("none", line.Word("act")));
    }

    private static async Task<IEnumerable<string?>> ActsAsync(SwapSchool school, Guid with) =>
        (await (await school.Office.SendJsonAsync(HttpMethod.Post, Address, new { lessonId = school.Ten, withLessonId = with })).JsonAsync(HttpStatusCode.Created))
            .GetProperty("lines").EnumerateArray().Select(line => line.Word("act"));

    [Fact]
    public async Task An_instructor_chooses_among_their_own_lessons_and_a_pupil_not_at_all()
    {
        await using var school = await StartAsync(postgres);
        using var marigold = await school.Host.PagesAsAsync(await school.Host.Data.PersonAsync(school.Marigold));
        var list = await (await marigold.GetAsync($"/diary/swaps?lessonId={school.Ten}")).TextAsync();
        Assert.Contains("Idris Bell</a>", list, StringComparison.Ordinal);
        Assert.DoesNotContain("Wren Castellan", list, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.NotFound, (await marigold.GetAsync($"/diary/swaps?lessonId={school.Ten}&with={school.HalfPastOne}")).StatusCode);
        using var tamsin = await school.Host.PagesAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.PupilAsync("Juniper Vale")));
        Assert.DoesNotContain("Swap with another lesson", await (await tamsin.GetAsync("/diary/swaps")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_pupil_answers_by_the_link_in_their_letter_without_signing_in_and_the_last_yes_swaps()
    {
        await using var school = await StartAsync(postgres);
        var swap = (await school.SwapAsync()).Id();
        var links = (await school.LettersAsync(swap)).ToDictionary(letter => letter.ToName, letter => Link().Match(WebUtility.HtmlDecode(letter.Html)).Value);
        using var nobody = school.Host.Browser();
        foreach (var wrong in new[] { $"/diary/swaps/{swap}", $"{links["Tamsin Oakley"]}x", $"/diary/swaps/{Guid.NewGuid()}?key=x" })
        {
            Assert.Equal(HttpStatusCode.NotFound, (await nobody.GetAsync(wrong)).StatusCode);
        }

        var shown = await (await nobody.GetAsync(links["Tamsin Oakley"])).TextAsync();
        Assert.Contains("Would become", shown, StringComparison.Ordinal);
        Assert.Contains("Tuesday 3 March, 13:30 to 14:30", shown, StringComparison.Ordinal);
        Assert.DoesNotContain("Wren Castellan", shown, StringComparison.Ordinal);
        // Opening it agrees to nothing, and staff's ways are not theirs.
        Assert.Equal(HttpStatusCode.NotFound, (await PressAsync(nobody, links["Tamsin Oakley"], "apply")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await PressAsync(nobody, links["Tamsin Oakley"], "drop")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await PressAsync(nobody, links["Tamsin Oakley"], "yes", ("lessonId", $"{school.HalfPastOne}"))).StatusCode);
        Assert.Equal(HttpStatusCode.Redirect, (await PressAsync(nobody, links["Tamsin Oakley"], "yes")).StatusCode);
        Assert.Equal(AsBooked, await school.PlacesAsync());
        Assert.Contains("You said yes.", await (await nobody.GetAsync(links["Tamsin Oakley"])).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await PressAsync(nobody, links["Wren Castellan"], "yes")).StatusCode);
        Assert.Equal(Swapped, await school.PlacesAsync());
        var history = (await school.Office.GetJsonAsync("/api/v1/audit?limit=100")).GetProperty("items").EnumerateArray().Single(line => line.Word("what") == "swap.apply");
        Assert.Contains("both pupils agreed here", history.Word("words"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_swap_that_cannot_be_opens_with_the_reason()
    {
        await using var school = await StartAsync(postgres);
        // The later lesson's place is after the end of the earlier, so nothing can be made of the one with the other.
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.Tamsin.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Gearbox, Gearbox.Automatic)));
        var swap = (await school.SwapAsync(school.HalfPastOne, school.Ten)).Id();
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        using var answer = await office.GetAsync($"/diary/swaps/{swap}");
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Contains("Bram Holt", await answer.TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.OK, (await office.GetAsync("/diary/swaps")).StatusCode);
    }

    [Fact]
    public async Task No_message_that_staff_read_holds_the_key_of_a_pupils_answer()
    {
        await using var school = await StartAsync(postgres);
        await school.SwapAsync();
        var letter = (await school.Office.GetJsonAsync("/api/v1/messages?limit=100")).GetProperty("items").EnumerateArray().First(m => m.Word("kind") == "swap_asked").Id();
        var told = await school.Office.GetJsonAsync($"/api/v1/messages/{letter}");
        Assert.Contains("/diary/swaps/", told.Word("text"), StringComparison.Ordinal);
        Assert.DoesNotMatch("key=[A-Za-z0-9_-]", told.ToString());
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        Assert.DoesNotMatch("key=[A-Za-z0-9_-]", await (await office.GetAsync($"/messages/{letter}")).TextAsync());
    }

    [Fact]
    public async Task An_open_swap_stands_on_the_first_page_of_each_pupil_until_it_is_answered_or_lapses()
    {
        const string Asked = "May we swap one of your lessons?";
        await using var school = await StartAsync(postgres);
        var swap = (await school.SwapAsync()).Id();
        using var tamsin = await school.Host.PagesAsAsync(await OfAsync(school.Tamsin));
        Task<Person> OfAsync(Pupil pupil) => school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.PupilId == pupil.Id));
        using var idris = await school.Host.PagesAsAsync(await school.Host.Data.PersonAsync(school.Idris));
        var shown = await (await tamsin.GetAsync("/diary/home")).TextAsync();
        Assert.Contains(Asked, shown, StringComparison.Ordinal);
        Assert.Contains($"href=\"/diary/swaps/{swap}\"", shown, StringComparison.Ordinal);
        Assert.DoesNotContain("Wren Castellan", shown, StringComparison.Ordinal);
        Assert.DoesNotContain(Asked, await (await idris.GetAsync("/diary/home")).TextAsync(), StringComparison.Ordinal);
        await (await AcceptAsync(school.AsTamsin, swap)).JsonAsync();
        Assert.DoesNotContain(Asked, await (await tamsin.GetAsync("/diary/home")).TextAsync(), StringComparison.Ordinal);
        using var wren = await school.Host.PagesAsAsync(await OfAsync(school.Wren));
        Assert.Contains(Asked, await (await wren.GetAsync("/diary/home")).TextAsync(), StringComparison.Ordinal);
        school.Host.Clock.Advance(NodaTime.Duration.FromHours(24));
        Assert.DoesNotContain(Asked, await (await wren.GetAsync("/diary/home")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Nothing_tells_a_pupil_who_the_other_is()
    {
        await using var school = await StartAsync(postgres);
        var pupils = new[] { (Who: school.Tamsin, Api: school.AsTamsin, Lesson: school.Ten), (Who: school.Wren, Api: school.AsWren, Lesson: school.HalfPastOne) };
        foreach (var how in new[] { "agreed", "declined", "dropped", "no longer fits", "swapped" })
        {
            var swap = (await school.SwapAsync()).Id();
            var told = new List<(int Reader, string Text)>();
            await LookAsync(swap, told);
            told.Add((0, await (await AcceptAsync(school.AsTamsin, swap)).Content.ReadAsStringAsync()));
            told.Add((0, await (await AcceptAsync(school.AsTamsin, swap)).Content.ReadAsStringAsync()));
            told.Add((0, await (await AcceptAsync(school.AsTamsin, swap, school.HalfPastOne)).Content.ReadAsStringAsync()));
            if (how == "no longer fits")
            {
                await (await school.Office.BookAsync(school.Idris.Id, school.Marigold.Id, At(11, 30))).JsonAsync(HttpStatusCode.Created);
            }

            told.Add((1, await (how switch
            {
                "declined" => await DeclineAsync(school.AsWren, swap),
                "dropped" => await school.Office.DeleteAsync($"{Address}/{swap}"),
                "agreed" => await school.AsWren.GetAsync($"{Address}/{swap}"),
                _ => await AcceptAsync(school.AsWren, swap),
            }).Content.ReadAsStringAsync()));
            told.Add((1, await (await AcceptAsync(school.AsWren, swap, school.Ten)).Content.ReadAsStringAsync()));
            await LookAsync(swap, told);
            told.AddRange((await school.LettersAsync(swap)).Select(letter => (letter.ToName == school.Tamsin.Name ? 0 : 1, $"{letter.Subject} {letter.Text} {letter.Html}")));
            foreach (var (n, pupil) in pupils.Index())
            {
                told.Add((n, await pupil.Api.GetStringAsync($"/api/v1/lessons/{pupil.Lesson}/history")));
            }

            foreach (var (reader, text) in told)
            {
                var other = pupils[1 - reader];
                foreach (var secret in new[] { other.Who.Name, other.Who.Id.ToString(), other.Lesson.ToString() })
                {
                    Assert.False(text.Contains(secret, StringComparison.OrdinalIgnoreCase), $"{how}: {pupils[reader].Who.Name} reads {secret} in: {text}");
                }
            }

            if (how == "swapped")
            {
                Assert.Equal("applied", (await school.ReadAsync(swap)).Word("state"));
            }

            await school.Office.DeleteAsync($"{Address}/{swap}");
            if (how == "no longer fits")
            {
                foreach (var lesson in (await school.Office.GetJsonAsync($"/api/v1/lessons?pupilId={school.Idris.Id}")).GetProperty("items").EnumerateArray().Where(l => l.Moment("start") == At(11, 30)))
                {
                    await (await school.Office.CancelAsync(lesson.Id())).JsonAsync();
                }
            }
        }

        async Task LookAsync(Guid swap, List<(int Reader, string Text)> told)
        {
            foreach (var (n, pupil) in pupils.Index())
            {
                told.Add((n, (await school.ReadAsync(swap, pupil.Api)).ToString()));
                foreach (var letter in (await school.LettersAsync(swap)).Where(letter => letter.Kind == "swap_asked" && letter.ToName == pupil.Who.Name))
                {
                    using var nobody = school.Host.Browser();
                    told.Add((n, await (await nobody.GetAsync(Link().Match(WebUtility.HtmlDecode(letter.Html)).Value)).TextAsync()));
                }
            }
        }
    }

    [Fact]
    public async Task Whoever_stands_beside_a_pupil_gets_a_copy_of_the_move_alone()
    {
        await using var school = await StartAsync(postgres);
        var contact = (await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/contacts", new { name = "Ottoline Oakley", email = "ottoline@larkfield.example", kind = "parent" })).JsonAsync(HttpStatusCode.Created)).Id();
        await (await school.Office.SendJsonAsync(
            HttpMethod.Put, $"/api/v1/pupils/{school.Tamsin.Id}/contacts/{contact}", new { relation = "mother", sees = new[] { "lessons" }, getsLetters = true }, etag: "*")).JsonAsync();
        var swap = (await school.SwapAsync()).Id();
        await (await AcceptAsync(school.AsTamsin, swap)).JsonAsync();
        await (await AcceptAsync(school.AsWren, swap)).JsonAsync();
        var copies = await school.Host.SaidAsync(all => all.Where(m => m.ToName == "Ottoline Oakley" && m.Kind != "lesson_reminder"));
        var copy = Assert.Single(copies);
        Assert.Equal("lesson_moved", copy.Kind);
        Assert.DoesNotContain("Wren", copy.Text, StringComparison.Ordinal);
    }

    private static Task<HttpResponseMessage> PressAsync(HttpClient browser, string link, string handler, params (string, string)[] fields)
    {
        var (page, key) = (link.Split('?')[0], link.Split("key=")[1]);
        return browser.PostFormAsync(link, $"{page}?handler={handler}", [("key", key), .. fields]);
    }

    [GeneratedRegex("/diary/swaps/[0-9a-f-]{36}[?]key=[A-Za-z0-9_-]+")]
    private static partial Regex Link();
}
