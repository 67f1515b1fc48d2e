using System.Globalization;
using System.IO.Compression;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.People;
using School.Web.Platform.Database;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Day;

public sealed partial class FortnightTests(TestPostgres postgres)
{
    private const int MostBytes = 80 * 1024;

    [Fact]
    public async Task A_cell_says_what_the_board_of_its_day_says_and_leads_there()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await FullBoard.SeedAsync(host, 2);
        await host.AddAsync(new Holiday { Nation = "england-and-wales", Date = new(2026, 3, 11), Name = "Larkfield fair" });
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await office.GetAsync("/diary/fortnight")).TextAsync();

        Assert.Equal(28, Cells().Count(page));
        var cell = Cells().Match(page).Groups["said"].Value;
        Assert.StartsWith("Marigold Ashby, Mon 2, 5 h booked, ", cell, StringComparison.Ordinal);
        Assert.Equal("board?date=2026-03-02", Cells().Match(page).Groups["href"].Value);
        var board = await (await office.GetAsync("/diary/board?date=2026-03-03")).TextAsync();
        var free = Openings().Matches(board).Where(one => one.Index < board.IndexOf("Rowan Tilbury", StringComparison.Ordinal)).Sum(one => Minutes(one, "to") - Minutes(one, "from"));
        Assert.InRange(free, 60, 600);
        Assert.Contains($"Marigold Ashby, Tue 3, 0 h booked, {free / 60}", page, StringComparison.Ordinal);

        Assert.Contains("Rowan Tilbury, Mon 2, off for a part, 5 h booked, 1 clash with time off, ", page, StringComparison.Ordinal);
        // Four hours off are no room, here as there.
        var today = await (await office.GetAsync("/diary/board?date=2026-03-02")).TextAsync();
        var left = Openings().Matches(today).Where(one => one.Index > today.IndexOf("<bdi>Rowan Tilbury", StringComparison.Ordinal)).Sum(one => Minutes(one, "to") - Minutes(one, "from"));
        Assert.Contains($"1 clash with time off, {School.Web.Platform.Layout.ScreenWords.Hours(left)} free", page, StringComparison.Ordinal);
        Assert.Contains("<b class=\"heed\">▲ 1</b> clash", page, StringComparison.Ordinal);
        Assert.Single(Regex.Matches(page, "class=\"clash\" x=\"70%\" y=\"1\" width=\"15%\""));
        Assert.Contains("<span>Larkfield fair</span>", page, StringComparison.Ordinal);
        Assert.Contains("Wed 11 is a holiday, Larkfield fair.", page, StringComparison.Ordinal);
        // Two who work 14 days from 08:00 to 18:00; one of them is off for four hours.
        Assert.Contains("<b>10</b> of 276 h", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_fortnight_begins_on_a_Monday_turns_by_fourteen_days_and_has_a_list_and_a_week()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await FullBoard.SeedAsync(host, 1);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var list = await (await office.GetAsync("/diary/fortnight?view=list&date=2026-03-12")).TextAsync();
        Assert.Contains("<h1>Monday 9 March to Sunday 22 March</h1>", list, StringComparison.Ordinal);
        Assert.Contains("href=\"/diary/fortnight?date=2026-02-23&view=list\" rel=\"prev\"", list, StringComparison.Ordinal);
        Assert.Contains("href=\"/diary/fortnight?date=2026-03-23&view=list\" rel=\"next\"", list, StringComparison.Ordinal);
        Assert.Contains("Marigold Ashby 10 h", list, StringComparison.Ordinal);
        Assert.DoesNotContain("class=\"grid", list, StringComparison.Ordinal);

        var week = await (await office.GetAsync("/diary/fortnight?weeks=1")).TextAsync();
        Assert.Equal(7, Cells().Count(week));
        Assert.Contains("aria-current=\"true\">Week</a>", week, StringComparison.Ordinal);
        Assert.Contains("href=\"/diary/fortnight?date=2026-03-09&weeks=1\" rel=\"next\"", week, StringComparison.Ordinal);
        var board = await (await office.GetAsync("/diary/board?date=2026-03-05")).TextAsync();
        Assert.Contains("<a href=\"/diary/fortnight?date=2026-03-05\">Fortnight</a>", board, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Thirty_instructors_with_four_lessons_a_day_stay_under_80_KB()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await FullBoard.SeedAsync(host, 30);
        var monday = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().ToListAsync());
        await host.AddAsync([.. from lesson in monday
                                from day in Enumerable.Range(1, 13)
                                let later = Duration.FromDays(day) + Duration.FromMinutes(5 * day)
                                select Lesson.Book(lesson.PupilId, lesson.InstructorId, lesson.CarId, new(lesson.StartsAt + later, lesson.EndsAt + later), lesson.PickUp, lesson.DropOff, lesson.BookedAt)]);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await office.GetAsync("/diary/fortnight")).Content.ReadAsByteArrayAsync(TestContext.Current.CancellationToken);
        Assert.Equal(420, Cells().Count(System.Text.Encoding.UTF8.GetString(page)));
        Assert.InRange(await CompressedAsync(page), 1, 20 * 1024);
        Assert.InRange(page.Length, 1, 4 * MostBytes);
    }

    [Fact]
    public async Task A_filter_shows_its_instructors_alone_says_so_and_is_kept_by_every_link()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await FullBoard.SeedAsync(host, 3);
        var (rowan, area) = (await IdAsync(host, "Rowan Tilbury"), RowId.New());
        await host.WithDbAsync(async db =>
        {
            (await db.Set<Instructor>().SingleAsync(i => i.Id == rowan)).Teaches = [Gearbox.Automatic];
            foreach (var other in await db.Set<Instructor>().Where(i => i.Id != rowan).ToListAsync())
            {
                (other.Teaches, other.Serves) = ([Gearbox.Manual], [area]);
            }

            return await db.SaveChangesAsync();
        });
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        foreach (var address in new[] { "/diary/board?", "/diary/fortnight?", "/diary/fortnight?weeks=1&" })
        {
            var page = await (await office.GetAsync($"{address}gearbox=Automatic")).TextAsync();
            Assert.Contains("Only who teach automatic: 1 instructor.", page, StringComparison.Ordinal);
            Assert.Contains("<bdi>Rowan Tilbury</bdi>", page, StringComparison.Ordinal);
            Assert.DoesNotContain("Marigold Ashby", page, StringComparison.Ordinal);
            Assert.DoesNotContain("<select", page, StringComparison.Ordinal);
            var open = await (await office.GetAsync($"{address}gearbox=Automatic&filter=open")).TextAsync();
            Assert.Contains("<option value=\"Automatic\" selected=\"selected\">Automatic</option>", open, StringComparison.Ordinal);
            Assert.Equal(2, Regex.Count(page, "rel=\"(?:prev|next)\"") is 2 ? Regex.Count(page, "gearbox=Automatic\" rel=") : -1);
            Assert.Equal(3, Regex.Count(page, "gearbox=Automatic\"(?: aria-current=\"true\")?>(?:Day|Week|Fortnight)</a>"));
            Assert.Contains("<input type=\"hidden\" name=\"gearbox\" value=\"Automatic\">", page, StringComparison.Ordinal);
            Assert.Contains("<a href=\"/diary/board\" aria-current=\"page\">Board</a>", page, StringComparison.Ordinal);
            var all = ShowAll().Match(page).Groups["href"].Value;
            Assert.DoesNotContain("gearbox", all, StringComparison.Ordinal);
            Assert.Contains("Marigold Ashby", await (await office.GetAsync(System.Net.WebUtility.HtmlDecode(all))).TextAsync(), StringComparison.Ordinal);
        }

        // Who serves every place serves this one too; who serves another area does not.
        var elsewhere = await (await office.GetAsync($"/diary/board?area={RowId.New()}")).TextAsync();
        Assert.Contains("<bdi>Rowan Tilbury</bdi>", elsewhere, StringComparison.Ordinal);
        Assert.DoesNotContain("Marigold Ashby", elsewhere, StringComparison.Ordinal);
        Assert.Contains("an area that is not there any more", elsewhere, StringComparison.Ordinal);
        var trainees = await (await office.GetAsync("/diary/fortnight?group=Trainee")).TextAsync();
        Assert.Contains("Nobody is like that", trainees, StringComparison.Ordinal);
        Assert.Contains("Only trainees: 0 instructors.", trainees, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_car_shows_who_holds_it_and_who_teaches_in_it_all_the_same()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await FullBoard.SeedAsync(host, 3);
        var (marigold, hester) = (await IdAsync(host, "Marigold Ashby"), await IdAsync(host, "Hester Vane"));
        var car = await host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.InstructorId == marigold).Select(l => l.CarId).FirstAsync());
        await host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.InstructorId == hester && l.StartsAt > LarkfieldMonday.At(14, 0))
            .ExecuteUpdateAsync(set => set.SetProperty(l => l.CarId, car).SetProperty(l => l.StartsAt, LarkfieldMonday.At(17, 0)).SetProperty(l => l.EndsAt, LarkfieldMonday.At(18, 0))));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await office.GetAsync($"/diary/board?car={car}")).TextAsync();
        Assert.Contains("Marigold Ashby", page, StringComparison.Ordinal);
        Assert.Contains("Hester Vane", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Rowan Tilbury", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Hester Vane", await (await office.GetAsync($"/diary/board?car={car}&date=2026-03-03")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_address_that_cannot_be_read_says_so_and_shows_everybody_today()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await FullBoard.SeedAsync(host, 1);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        foreach (var address in new[] { "gearbox=Sideways", "car=none", "date=9999-12-31", "weeks=many", "group=7&area=x" })
        {
            var page = await (await office.GetAsync($"/diary/fortnight?{address}")).TextAsync();
            Assert.Contains("This address is not quite right, so you see today.", page, StringComparison.Ordinal);
            Assert.Contains("<bdi>Marigold Ashby</bdi>", page, StringComparison.Ordinal);
            Assert.Contains("Monday 2 March", page, StringComparison.Ordinal);
        }
    }

    private static Task<Guid> IdAsync(SchoolHost host, string name) => host.WithDbAsync(db => db.Set<Instructor>().Where(i => i.Name == name).Select(i => i.Id).SingleAsync());

    private static int Minutes(Match opening, string which) =>
        (int)TimeSpan.ParseExact(opening.Groups[which].Value, @"hh\:mm", CultureInfo.InvariantCulture).TotalMinutes;

    private static async Task<long> CompressedAsync(byte[] page)
    {
        using var sink = new MemoryStream();
        await using (var gzip = new GZipStream(sink, CompressionLevel.Fastest, leaveOpen: true))
        {
            await gzip.WriteAsync(page, TestContext.Current.CancellationToken);
        }

        return sink.Length;
    }

    [GeneratedRegex("<td data-day=\"[^\"]+\"><a href=\"(?<href>[^\"]+)\" aria-label=\"(?<said>[^\"]+)\"")]
    private static partial Regex Cells();

    [GeneratedRegex("<title>Free (?<from>[0-9:]{5}) to (?<to>[0-9:]{5}), room")]
    private static partial Regex Openings();

    [GeneratedRegex("href=\"(?<href>[^\"]+)\">Show all</a>")]
    private static partial Regex ShowAll();
}
