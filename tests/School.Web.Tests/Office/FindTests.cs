using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Pupils;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Office;

/// <summary>What somebody types and what is found. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class FindTests(TestPostgres postgres)
{
    [Theory]
    [InlineData("zoe", "Zoë Müller-Strauß")]
    [InlineData("ZOË", "Zoë Müller-Strauß")]
    [InlineData("strauss zoe", "Zoë Müller-Strauß")]
    [InlineData("müller", "Zoë Müller-Strauß")]
    [InlineData("Ｚｏｅ", "Zoë Müller-Strauß")]
    [InlineData("lukasz", "Łukasz O'Neill")]
    [InlineData("o'neill", "Łukasz O'Neill")]
    [InlineData("o’neill łukasz", "Łukasz O'Neill")]
    [InlineData("oneill", "Łukasz O'Neill")]
    [InlineData("андрей", "Андрей Вольский")]
    [InlineData("ВОЛЬСКИЙ андр", "Андрей Вольский")]
    [InlineData("волский", "Андрей Вольский")]
    [InlineData("王", "王小明")]
    [InlineData("अनिता", "अनिता शर्मा")]
    public async Task A_name_is_found_whatever_its_accents_its_script_and_the_order_of_its_words(string typed, string name)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        foreach (var other in new[] { "Zoë Müller-Strauß", "Łukasz O'Neill", "Андрей Вольский", "王小明", "अनिता शर्मा", "Bryony Vale", "Zora Mill" })
        {
            await school.Host.Data.PupilAsync(other, instructor: school.InstructorId);
        }

        Assert.Equal([name], await LabelsAsync(school.Office, typed, "pupil"));
    }

    [Theory]
    [InlineData("jhon")]
    [InlineData("johhn")]
    [InlineData("kohn")]
    [InlineData("castelan john")]
    [InlineData("cadtellan")]
    [InlineData("catsellan")]
    [InlineData("Castellna")]
    [InlineData("acstellan")]
    public async Task One_slip_in_a_word_is_forgiven(string typed)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        foreach (var name in new[] { "John Castellan", "Wren Marsh", "Corin Vale" })
        {
            await school.Host.Data.PupilAsync(name);
        }

        Assert.Equal(["John Castellan"], await LabelsAsync(school.Office, typed, "pupil"));
    }

    [Theory]
    [InlineData("jhno castellan x")]
    [InlineData("catselaln")]
    [InlineData("jhn")]
    [InlineData("ohn")]
    [InlineData("ellan")]
    public async Task Two_slips_or_one_in_a_short_word_are_another_word(string typed)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.Data.PupilAsync("John Castellan");
        Assert.Equal([], await LabelsAsync(school.Office, typed, "pupil"));
    }

    [Fact]
    public async Task What_is_typed_whole_comes_before_what_begins_so_and_that_before_a_word_within_and_a_slip_comes_last()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        foreach (var name in new[] { "Merry Hart", "Anna Harte", "Harte Vale", "Hart" })
        {
            await school.Host.Data.PupilAsync(name);
        }

        await school.Host.Data.PupilAsync("Harn Bell");
        Assert.Equal(["Hart", "Harte Vale", "Anna Harte", "Merry Hart"], await LabelsAsync(school.Office, "hart", "pupil"));
        // Only where little else is found: with three and more it is not what was meant.
        Assert.Equal(["Hart", "Merry Hart", "Harn Bell"], (await WithoutAsync(school, "Harte")));
    }

    [Fact]
    public async Task Of_equals_those_who_learn_now_come_first_then_whoever_came_last()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var (first, left, last) = (await school.Host.Data.PupilAsync("Sam Vale"), await school.Host.Data.PupilAsync("Sam Bell"), await school.Host.Data.PupilAsync("Sam Hart", instructor: school.InstructorId));
        await LeftAsync(school, left);
        var found = await FoundAsync(school.Office, "sam", "pupil");
        Assert.Equal([last.Id, first.Id, left.Id], found.Select(one => one.GetProperty("id").GetGuid()));
        Assert.Equal(["with Marigold Ashby, Mill Lane", "Mill Lane", "left Saturday 28 February 2026"], found.Select(one => one.Word("detail")));
    }

    [Theory]
    [InlineData("01632 960077")]
    [InlineData("+44 1632 960077")]
    [InlineData("+44 (0)1632 960 077")]
    [InlineData("00441632960077")]
    [InlineData("(01632) 960-077")]
    [InlineData("1632.960077")]
    [InlineData("960077")]
    [InlineData("60077")]
    [InlineData("٠١٦٣٢٩٦٠٠٧٧")]
    public async Task A_phone_number_is_found_in_any_form(string typed)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.Data.PupilAsync("Bryony Vale");
        var pupil = await school.Host.Data.PupilAsync("Wren Castellan");
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == pupil.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Phone, "+441632960077")));
        Assert.Equal(["Wren Castellan"], await LabelsAsync(school.Office, typed, "pupil"));
    }

    [Fact]
    public async Task An_address_is_found_by_a_part_of_it_and_its_underscore_is_one()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var (one, other) = (await school.Host.Data.PupilAsync("Wren Castellan"), await school.Host.Data.PupilAsync("Bryony Vale"));
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == one.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, "wren_c@larkfield.example")));
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == other.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, "wrenxc@larkfield.example")));
        Assert.Equal(["Wren Castellan"], await LabelsAsync(school.Office, "Wren_c@larkfield", "pupil"));
    }

    [Theory]
    [InlineData("%")]
    [InlineData("_")]
    [InlineData("%%%%")]
    [InlineData("' OR 1=1 --")]
    [InlineData("tam & oak | !x :*")]
    [InlineData("\\")]
    [InlineData("t_msin")]
    [InlineData("ta%in")]
    public async Task Signs_are_plain_signs(string typed)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal([], await LabelsAsync(school.Office, typed, "pupil"));
        Assert.Equal(["Tamsin Oakley"], await LabelsAsync(school.Office, "tam% _oak", "pupil"));
    }

    [Theory]
    [InlineData("LK07 FLD")]
    [InlineData("lk07fld")]
    [InlineData("lk07-fld")]
    [InlineData("07 fld")]
    [InlineData("blue hatch")]
    public async Task A_car_is_found_by_its_plate_however_it_is_spaced_and_by_what_it_is_called(string typed)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.AddAsync(new Car { Label = "blue hatch", Plate = "LK07 FLD", Gearbox = Core.Cars.Gearbox.Manual, DualControls = true, FirstRegistered = new(2024, 3, 1) });
        var car = Assert.Single(await FoundAsync(school.Instructor, typed, "car"));
        Assert.Equal(("blue hatch", "LK07 FLD"), (car.Word("label"), car.Word("detail")));
        Assert.Equal([], await FoundAsync(school.Pupil, typed, "car"));
    }

    [Fact]
    public async Task A_pupil_brings_the_next_lessons_and_the_last_and_a_pupil_finds_their_own()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        foreach (var day in new[] { 3, 4, 5 })
        {
            await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, day, 10));
        }

        var found = await FoundAsync(school.Office, "tamsin", "lesson");
        Assert.Equal(["Tuesday 3 March 2026, 10:00", "Wednesday 4 March 2026, 10:00"], found.Select(one => one.Word("label")));
        Assert.Equal("Tamsin Oakley, with Marigold Ashby, booked", found[0].Word("detail"));
        foreach (var typed in new[] { "lesson", "marigold", "tamsin" })
        {
            Assert.Equal(2, (await FoundAsync(school.Pupil, typed, "lesson")).Count);
        }

        school.Host.Clock.Reset(London(2026, 3, 4, 12));
        Assert.Equal(["Thursday 5 March 2026, 10:00", "Wednesday 4 March 2026, 10:00"], await LabelsAsync(school.Office, "oakley", "lesson"));
        var other = await school.Host.Data.PupilAsync("Bryony Vale");
        using var stranger = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(other));
        Assert.Equal([], await FoundAsync(stranger, "tamsin"));
        Assert.Equal([], await FoundAsync(stranger, "marigold"));
    }

    [Fact]
    public async Task A_test_is_found_by_its_reference_by_who_may_see_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var start = London(2026, 4, 1, 10);
        var day = TestDay.Enter(school.PupilId, new(
            start, Duration.FromMinutes(50), 60, 15, TestData.PlaceAt(label: "Larkfield test centre"), Core.Diary.Time.Nation.EnglandAndWales, TestData.PlaceAt(), false, "LK 4471-09",
            Core.Cars.Gearbox.Manual, school.InstructorId, null, true), school.Host.Clock.GetCurrentInstant());
        await school.Host.AddAsync(day);
        foreach (var api in new[] { school.Office, school.Instructor, school.Pupil })
        {
            Assert.Equal($"/diary/test-days/{day.Id}", Assert.Single(await FoundAsync(api, "lk447109", "test")).Word("page"));
        }

        using var stranger = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Piers Anstey")));
        Assert.Equal([], await FoundAsync(stranger, "lk447109", "test"));
        Assert.Equal([], await FoundAsync(stranger, "tamsin", "test"));
    }

    [Fact]
    public async Task A_message_is_found_by_whom_it_went_to_and_what_it_is_about()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10));
        var found = await FoundAsync(school.Office, "tamsin oakley", "message");
        Assert.NotEmpty(found);
        var subject = found[0].Word("label")!;
        Assert.Contains(found[0].Id(), (await FoundAsync(school.Office, subject, "message")).Select(one => one.Id()));
        Assert.Equal([], await FoundAsync(school.Instructor, "tamsin", "message"));
        Assert.Equal([], await FoundAsync(school.Pupil, "tamsin", "message"));
    }

    [Theory]
    [InlineData("")]
    [InlineData("?q=")]
    [InlineData("?q=%20%09")]
    [InlineData("?q=sam&kind=everything")]
    [InlineData("?q=sam&kind=3")]
    public async Task A_question_without_words_or_of_another_kind_is_refused_with_a_sentence(string question)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var answer = await school.Office.GetAsync($"/api/v1/search{question}");
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Equal("invalid", await answer.CodeAsync());
    }

    [Fact]
    public async Task What_is_too_long_is_refused_and_not_looked_for()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal(HttpStatusCode.OK, (await school.Office.GetAsync($"/api/v1/search?q={new string('a', 200)}")).StatusCode);
        using var costs = await DatabaseCosts.OnAsync(school.Host);
        costs.Take();
        Assert.Equal(["q"], await (await school.Office.GetAsync($"/api/v1/search?q={new string('a', 201)}")).WrongFieldsAsync());
        var (_, statements) = costs.Take();
        Assert.DoesNotContain(statements, statement => $"{statement}".Contains("plain", StringComparison.Ordinal));
        Assert.Equal(HttpStatusCode.RequestUriTooLong, (await school.Office.GetAsync($"/api/v1/search?q={new string('a', 10_000)}")).StatusCode);
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        Assert.Contains("too long to be looked for", await (await pages.GetAsync($"/find?q={new string('a', 201)}")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Fifty_at_once_of_one_person_wait_their_turn_and_are_all_answered()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var answers = await Task.WhenAll(Enumerable.Range(0, 50).Select(_ => school.Office.GetAsync("/api/v1/search?q=tamsin")));
        Assert.All(answers, answer => Assert.Equal(HttpStatusCode.OK, answer.StatusCode));
    }

    [Fact]
    public async Task A_list_goes_on_where_it_stopped()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        for (var n = 0; n < 12; n++)
        {
            await school.Host.Data.PupilAsync($"Sam Vale {n}");
        }

        Assert.Equal(8, (await FoundAsync(school.Office, "sam vale")).Count(one => one.Word("kind") == "pupil"));
        Assert.Equal(12, (await FoundAsync(school.Office, "sam vale", "pupil")).Count);
        var page = await school.Office.GetJsonAsync("/api/v1/search?q=sam&kind=pupil&limit=10");
        Assert.Equal(10, page.GetProperty("items").GetArrayLength());
        var rest = await school.Office.GetJsonAsync($"/api/v1/search?q=sam&kind=pupil&limit=10&cursor={page.Word("next")}");
        Assert.Equal((2, JsonValueKind.Null), (rest.GetProperty("items").GetArrayLength(), rest.GetProperty("next").ValueKind));
    }

    [Fact]
    public async Task The_page_works_without_a_script_and_lists_by_kind()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        Assert.Contains("action=\"/find\"", await (await pages.GetAsync("/diary/board")).Content.ReadAsStringAsync(), StringComparison.Ordinal);
        var html = await (await pages.GetAsync("/find?q=tamsin")).Content.ReadAsStringAsync();
        Assert.Contains($"href=\"/pupils/{school.PupilId}\"", html, StringComparison.Ordinal);
        Assert.Contains("<h2>Pupils</h2>", html, StringComparison.Ordinal);
        Assert.DoesNotContain("action=\"/find\"", html, StringComparison.Ordinal);
        Assert.Contains("Nothing found", await (await pages.GetAsync("/find?q=nobody+at+all")).TextAsync(), StringComparison.Ordinal);
    }

    private static async Task<IReadOnlyList<string?>> WithoutAsync(SmallSchool school, string part)
    {
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Name.Contains(part)).ExecuteUpdateAsync(set => set.SetProperty(p => p.Name, "Tamsin Oakley")));
        return await LabelsAsync(school.Office, "hart", "pupil");
    }

    private static Task<int> LeftAsync(SmallSchool school, Pupil pupil) =>
        school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == pupil.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.RetiredOn, new LocalDate(2026, 2, 28))));

    private static async Task<IReadOnlyList<string?>> LabelsAsync(HttpClient api, string typed, string? kind = null) => [.. (await FoundAsync(api, typed, kind)).Select(one => one.Word("label"))];

    internal static async Task<IReadOnlyList<JsonElement>> FoundAsync(HttpClient api, string typed, string? kind = null) =>
        [.. (await api.GetJsonAsync($"/api/v1/search?q={Uri.EscapeDataString(typed)}{(kind is null ? "" : $"&kind={kind}")}")).GetProperty("items").EnumerateArray()];
}
