using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Pupils;
using School.Web.Modules.School;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Messages;

/// <summary>A letter is kept as facts; its words, and where it goes, are found when they are needed.</summary>
public sealed class LetterDataTests(TestPostgres postgres)
{
    [Fact]
    public async Task No_sentence_is_kept_of_a_letter_that_nobody_typed_and_its_words_follow_the_school()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10))).Id();
        var letter = Assert.Single(await school.MessagesAsync(id, "lesson_booked"), m => m.Key.EndsWith(":pupil", StringComparison.Ordinal));
        Assert.Contains("Thursday 5 March, 10:00 to 11:00", letter.Text, StringComparison.Ordinal);
        Assert.Contains($"https://localhost/diary/lessons/{id}", letter.Text, StringComparison.Ordinal);
        Assert.Contains($"<a href=\"https://localhost/diary/lessons/{id}\">Your lesson</a>", letter.Html, StringComparison.Ordinal);
        Assert.All(["Your lesson", "March", "free of charge", "https://"], words => Assert.DoesNotContain(words, letter.Row.Content, StringComparison.Ordinal));

        await school.Host.WithDbAsync(db => db.Set<SchoolProfile>().ExecuteUpdateAsync(set => set.SetProperty(s => s.TwelveHourClock, true).SetProperty(s => s.Name, "Larkfield Motoring")));
        var again = Assert.Single(await school.MessagesAsync(id, "lesson_booked"), m => m.Key.EndsWith(":pupil", StringComparison.Ordinal));
        Assert.Contains("10:00 am to 11:00 am", again.Text, StringComparison.Ordinal);
        Assert.Contains("Larkfield Motoring", again.Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_letter_goes_where_its_receiver_is_reached_when_it_goes()
    {
        await using var server = new SmtpListener();
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10))).Id();
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.PupilId).ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, "moved@larkfield.example")));
        await Post.RunAsync(school.Host, Post.To(server));

        var toPupil = Assert.Single(await school.MessagesAsync(id, "lesson_booked"), m => m.Key.EndsWith(":pupil", StringComparison.Ordinal));
        Assert.Equal((MessageState.Sent, "moved@larkfield.example"), (toPupil.State, toPupil.ToAddress));
        Assert.Contains(server.Letters, letter => letter.To.Mailboxes.Single().Address == "moved@larkfield.example");
    }

    [Theory]
    [InlineData("[7, 8]")]
    [InlineData("\"a letter\"")]
    [InlineData("[\"lesson\", [\"some day\"], []]")]
    public async Task A_letter_whose_form_is_not_known_waits_for_a_release_that_knows_it_and_keeps_no_other_from_being_listed_or_going(string content)
    {
        await using var server = new SmtpListener();
        await using var school = await SmallSchool.StartAsync(postgres);
        var strange = Post.Reminder(school.Host);
        await school.Host.AddAsync(strange, Post.Reminder(school.Host, 2));
        await school.Host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"UPDATE messages.messages SET content = {content}::jsonb, due_at = due_at - interval '1 minute' WHERE id = {strange.Id}"));

        await Post.RunAsync(school.Host, Post.To(server));

        Assert.Single(server.Letters);
        var waits = await Post.ReadAsync(school.Host, strange.Id);
        Assert.Equal((MessageState.Waiting, 1), (waits.State, waits.Tries));
        Assert.Contains("release", waits.LastProblem, StringComparison.Ordinal);
        var listed = (await school.Office.GetJsonAsync("/api/v1/messages")).GetProperty("items").EnumerateArray().ToList();
        Assert.Equal(2, listed.Count);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        Assert.Contains("cannot be read here", await office.GetStringAsync($"/messages/{strange.Id}"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task One_letter_that_lacks_a_fact_is_told_bare_and_keeps_no_other_from_going()
    {
        await using var server = new SmtpListener();
        await using var school = await SmallSchool.StartAsync(postgres);
        var poor = Post.Reminder(school.Host, kind: "lesson_cancelled", facts: [Fact.Of("pupil", "Tamsin Oakley")]);
        await school.Host.AddAsync(poor, Post.Reminder(school.Host, 2));
        var said = Assert.Single(await school.Host.SaidAsync(all => all.Where(m => m.Id == poor.Id)));
        Assert.Contains("pupil: Tamsin Oakley", said.Text, StringComparison.Ordinal);
        await Post.RunAsync(school.Host, Post.To(server));
        Assert.Equal(2, await Post.CountAsync(school.Host, MessageState.Sent));
        Assert.Equal(2, (await school.Office.GetJsonAsync("/api/v1/messages")).GetProperty("items").GetArrayLength());
    }

    [Fact]
    public async Task Every_kind_of_letter_has_one_wording()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var wordings = host.Services.GetServices<ILetterWording>().SelectMany(wording => wording.Kinds).ToList();
        Assert.Equal(wordings.Distinct(), wordings);
        Assert.Equal([], host.Services.GetServices<LetterKind>().Select(kind => kind.Kind).Except(wordings));
    }
}
