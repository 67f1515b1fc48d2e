using System.Globalization;
using System.Runtime.CompilerServices;
using System.Runtime.Versioning;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using Npgsql;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Messages.Writing;
using School.Web.Modules.School;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Messages;

/// <summary>A letter that went says the same for as long as it is kept, and shows that it does.</summary>
[UnsupportedOSPlatform("windows")]
public sealed class LettersAsSentTests(TestPostgres postgres)
{
    private static readonly Letterhead Larkfield = new(
        "Larkfield Driving School", "01632 960100", "school@larkfield.example", "Europe/London", false, "england-and-wales", "Bring your licence.",
        "https://school.larkfield.example", Letterhead.Now);

    [Fact]
    public async Task A_letter_that_went_says_what_it_said_whatever_the_school_is_called_since()
    {
        await using var server = new SmtpListener();
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 9, 10))).Id();
        var unsent = await ReadAsync(school, id, "lesson_booked");
        Assert.False(unsent.TryGetProperty("asSent", out var not) && not.ValueKind != JsonValueKind.Null);
        await Post.RunAsync(school.Host, Post.To(server));
        var went = server.Letters.Single(letter => letter.To.Mailboxes.Single().Address == unsent.GetProperty("toAddress").GetString());

        await school.Host.WithDbAsync(db => db.Set<SchoolProfile>().ExecuteUpdateAsync(set => set
            .SetProperty(s => s.TwelveHourClock, true).SetProperty(s => s.Name, "Larkfield Motoring").SetProperty(s => s.Phone, "01632 960999").SetProperty(s => s.Zone, "Europe/Lisbon")));
        var shown = await ReadAsync(school, id, "lesson_booked");
        Assert.True(shown.GetProperty("asSent").GetBoolean());
        Assert.Equal(went.TextBody!.ReplaceLineEndings("\n"), shown.GetProperty("text").GetString());
        Assert.Equal(went.HtmlBody!.ReplaceLineEndings("\n"), shown.GetProperty("html").GetString());
        Assert.Equal(went.Subject, shown.GetProperty("subject").GetString());
        // The reminder has not gone: it follows the school.
        var waits = await ReadAsync(school, id, "lesson_reminder");
        Assert.Contains("Larkfield Motoring", waits.GetProperty("text").GetString(), StringComparison.Ordinal);
        Assert.Equal(1, await school.Host.WithDbAsync(db => db.Set<KeptLetterhead>().CountAsync()));
    }

    /// <summary>"163 hours before" is for nobody to count; letters of a former edition said so and go on saying it.</summary>
    [Theory]
    [InlineData(9, "Cancelled 7 days before; free until 48 hours before.", "Cancelled 170 hours before; free until 48 hours before.")]
    [InlineData(4, "Cancelled 50 hours before; free until 48 hours before.", "Cancelled 50 hours before; free until 48 hours before.")]
    public async Task A_letter_counts_in_days_what_is_more_than_three_days_off(int day, string now, string before)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, day, 10))).Id();
        Assert.Equal(System.Net.HttpStatusCode.OK, (await school.Office.CancelAsync(id)).StatusCode);
        var letter = Assert.Single(await school.Host.SaidAsync(all => all.Where(m => m.Kind == "lesson_cancelled" && m.ToName == "Tamsin Oakley")));
        Assert.Contains(now, letter.Text, StringComparison.Ordinal);
        await using var scope = school.Host.Services.CreateAsyncScope();
        Assert.Contains(before, scope.ServiceProvider.GetRequiredService<LetterMaker>().Of(letter.Row, Larkfield with { Edition = 3 }).Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Words_that_are_no_longer_those_that_went_are_said_to_be_others()
    {
        await using var server = new SmtpListener();
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 9, 10))).Id();
        await Post.RunAsync(school.Host, Post.To(server));
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        var letter = await ReadAsync(school, id, "lesson_booked");
        Assert.DoesNotContain("otherwise than when it went", await office.GetStringAsync($"/messages/{letter.Id()}"), StringComparison.Ordinal);

        await school.Host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"UPDATE messages.messages SET content = jsonb_set(content, '{{5}}', '\"Somebody Else\"') WHERE about_id = {id}"));
        Assert.False((await ReadAsync(school, id, "lesson_booked")).GetProperty("asSent").GetBoolean());
        Assert.Contains("otherwise than when it went", await office.GetStringAsync($"/messages/{letter.Id()}"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_letter_whose_words_are_kept_no_longer_is_listed_and_opened_all_the_same()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 9, 10))).Id();
        await school.Host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"UPDATE messages.messages SET content = NULL, state = 'Sent', closed_at = now() WHERE about_id = {id}"));
        var letter = await ReadAsync(school, id, "lesson_booked");
        Assert.Equal("Lesson booked", letter.GetProperty("subject").GetString());
        Assert.Contains("no longer kept", letter.GetProperty("text").GetString(), StringComparison.Ordinal);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        Assert.Contains("Lesson booked", await office.GetStringAsync("/messages"), StringComparison.Ordinal);
        Assert.Contains("no longer kept", await office.GetStringAsync($"/messages/{letter.Id()}"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Letters_of_a_former_release_keep_every_fact_in_their_short_form()
    {
        var database = await KeptBackups.RestoredAsync(postgres, "20261126170500_ChargesToProposals.backup");
        var before = await KeptAsync(database);
        await using (await SchoolHost.OnAsync(postgres, database))
        {
            var after = await KeptAsync(database);
            Assert.NotEmpty(before);
            Assert.Equal(before.Keys.Order(), after.Keys.Order());
            Assert.All(before, was =>
            {
                Assert.StartsWith("{", was.Value.Content, StringComparison.Ordinal);
                Assert.StartsWith("[", after[was.Key].Content, StringComparison.Ordinal);
                Assert.Equal(Told(was.Value), Told(after[was.Key]));
            });
            Assert.Contains(before.Values, row => LetterContent.Read(row).Facts.Any(fact => fact.Parts is not null || fact.Day is not null || (fact.Text is not null && fact.Number is not null)));
            // What is agreed with a pupil, and nothing else, is kept the longer.
            await using var source = NpgsqlDataSource.Create(database);
            await using var proofs = source.CreateCommand("SELECT count(*) FILTER (WHERE proof), count(*) FILTER (WHERE proof AND (receiver <> 'Pupil' OR kind LIKE '%reminder')) FROM messages.messages");
            await using var reader = await proofs.ExecuteReaderAsync();
            Assert.True(await reader.ReadAsync());
            Assert.InRange(reader.GetInt64(0), 1, before.Count - 1);
            Assert.Equal(0, reader.GetInt64(1));
        }
    }

    [Fact]
    public void Every_shape_of_a_fact_comes_back_as_it_was()
    {
        var moment = Instant.FromUtc(2026, 3, 5, 10, 0) + Duration.FromMilliseconds(250);
        List<Fact> facts =
        [
            Fact.Of("text", "“Tamsin”, {about} & [\"a\", 1]"), Fact.Of("empty", ""), Fact.Of("number", -48), Fact.Of("moment", moment), Fact.Of("time", new Interval(moment, moment + Duration.FromHours(1))),
            Fact.Of("day", new LocalDate(2026, 3, 5)), new("nothing"), Fact.Of("both", "Late") with { Number = 1 }, new("until") { Until = moment },
            new("line") { Parts = [Fact.Of("inner", "word"), Fact.Of("inner", 3), new("deep") { Parts = [Fact.Of("day", new LocalDate(2026, 3, 6))] }] }, Fact.Of("text", "a second of the name"),
        ];
        var about = Guid.Parse("019a0000-0000-7000-8000-000000000001");
        var letter = new Letter("kind", "key", about, Receiver.Pupil(about), facts) { Acts = [new("open", $"/diary/lessons/{about}"), new("other", "/diary/book?from=a&b={}")] };
        var row = RowOf(letter.Kind, about, LetterContent.Of(letter));
        Assert.Equal(JsonSerializer.Serialize(facts), JsonSerializer.Serialize(LetterContent.Read(row).Facts));
        Assert.Equal(letter.Acts, LetterContent.Read(row).Acts);
    }

    /// <summary>
    /// What each edition of the wordings says stands in a file, a digest for each kind, of all letters of a kept school. A wording may be changed in the
    /// next edition only: letters that went in a former one go on saying the same.
    /// </summary>
    [Fact]
    public async Task What_an_edition_says_never_changes()
    {
        var database = await KeptBackups.RestoredAsync(postgres, "20261126170500_ChargesToProposals.backup");
        await using var host = await SchoolHost.OnAsync(postgres, database);
        await using var scope = host.Services.CreateAsyncScope();
        var maker = scope.ServiceProvider.GetRequiredService<LetterMaker>();
        var letters = (await host.WithDbAsync(db => db.Set<Message>().AsNoTracking().ToListAsync())).OrderBy(row => row.Key, StringComparer.Ordinal).ToList();
        var said = Enumerable.Range(1, Letterhead.Now).SelectMany(edition => letters.GroupBy(row => row.Kind, StringComparer.Ordinal).OrderBy(kind => kind.Key, StringComparer.Ordinal).Select(kind =>
            $"{edition.ToString(CultureInfo.InvariantCulture)} {kind.Key} {Convert.ToHexStringLower(SHA256.HashData([.. kind.SelectMany(row => maker.Of(row, Larkfield with { Edition = edition }).Digest())]))[..16]}"));
        var should = string.Join('\n', said);
        Assert.True((await File.ReadAllTextAsync(Editions())).Trim() == should, $"A letter that went would say otherwise now. letters-as-sent.txt would have to say:\n{should}");
    }

    private static string Editions([CallerFilePath] string here = "") => Path.Combine(Path.GetDirectoryName(here)!, "letters-as-sent.txt");

    private static string Told(Message row)
    {
        var letter = LetterContent.Read(row);
        return JsonSerializer.Serialize(new { letter.Facts, letter.Acts });
    }

    private static Message RowOf(string kind, Guid about, string content) => new()
    {
        Key = "",
        AboutId = about,
        Kind = kind,
        Receiver = ReceiverKind.Pupil,
        ReceiverId = Guid.Empty,
        ToName = "",
        ToAddress = "",
        Content = content,
        WrittenAt = Instant.MinValue,
        DueAt = Instant.MinValue,
    };

    private static async Task<Dictionary<Guid, Message>> KeptAsync(string database)
    {
        await using var source = NpgsqlDataSource.Create(database);
        await using var command = source.CreateCommand("SELECT id, kind, about_id, content::text FROM messages.messages");
        await using var reader = await command.ExecuteReaderAsync();
        var rows = new Dictionary<Guid, Message>();
        while (await reader.ReadAsync())
        {
            rows[reader.GetGuid(0)] = RowOf(reader.GetString(1), reader.GetGuid(2), reader.GetString(3));
        }

        return rows;
    }

    private static async Task<JsonElement> ReadAsync(SmallSchool school, Guid lesson, string kind)
    {
        var rows = await school.Host.WithDbAsync(db => db.Set<Message>().AsNoTracking().Where(m => m.AboutId == lesson && m.Kind == kind).ToListAsync());
        return await school.Office.GetJsonAsync($"/api/v1/messages/{rows.Single(m => m.Receiver == ReceiverKind.Pupil).Id}");
    }
}
