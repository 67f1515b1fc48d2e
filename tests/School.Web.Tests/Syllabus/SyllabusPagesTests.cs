using System.Net;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Platform.Database;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus;

public sealed class SyllabusPagesTests(TestPostgres postgres)
{
    private const string Arrange = "/syllabus/arrange";

    [Fact]
    public async Task The_office_changes_a_skill_and_the_page_shows_sources_and_marks_common_practice()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var saved = await office.PostFormAsync(
            "/syllabus/skills/signals/change", ("Edition", "1"), ("Input.Name", "Signals"), ("Input.Group", "Observation, signalling and planning"),
            ("Input.Explain", "Signal when it helps somebody.\nGive signals clearly. [The Highway Code, rule 103; 20 June 2024]"),
            ("Input.Ask", "Who is it for?\nWhoever it helps."), ("Input.Needs", "mirrors"));
        Assert.Equal("/syllabus/skills/signals", saved.Headers.Location!.OriginalString);
        var page = await (await office.GetAsync("/syllabus/skills/signals")).TextAsync();
        Assert.Contains("<cite>The Highway Code, rule 103 (20 June 2024)</cite>", page, StringComparison.Ordinal);
        Assert.Contains("Signal when it helps somebody.</bdi><span class=\"common\"", page, StringComparison.Ordinal);
        Assert.Contains("Common practice, no source.", page, StringComparison.Ordinal);
        Assert.Contains("Whoever it helps.", page, StringComparison.Ordinal);
        Assert.Contains("the current official text decide", page, StringComparison.Ordinal);
        Assert.Contains("Changed “Signals”", await (await office.GetAsync("/syllabus/editions")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("This is how it stood in edition 1", await (await office.GetAsync("/syllabus/skills/signals?edition=1")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("This is edition 1", await (await office.GetAsync("/syllabus?edition=1")).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.NotFound, (await office.GetAsync("/syllabus?edition=9")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await office.GetAsync("/syllabus/skills/signals?edition=x")).StatusCode);
    }

    [Theory]
    [InlineData("Input.Name", "", "Enter the name of the skill.")]
    [InlineData("Input.Explain", "One.\nTwo. [The Highway Code]", "Line 2: the source cannot be read.")]
    [InlineData("Input.Rules", "Stop at the line.", "Line 1: a rule needs its source.")]
    [InlineData("Input.Ask", "Why?", "needs its answer")]
    [InlineData("Input.Group", "", "Choose a group, or name a new one.")]
    [InlineData("Input.Needs", "juggling", "builds on “juggling”, which this syllabus does not have")]
    public async Task What_is_wrong_in_the_form_is_told_and_what_was_typed_is_kept(string field, string value, string sentence)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var fields = new Dictionary<string, string>
        {
            ["Edition"] = "1",
            ["Input.Name"] = "Signals",
            ["Input.Group"] = "Observation, signalling and planning",
            ["Input.Aim"] = "Kept as typed.",
            [field] = value,
        };
        var page = await (await office.PostFormAsync("/syllabus/skills/signals/change", [.. fields.Select(f => (f.Key, f.Value))])).TextAsync();
        Assert.Contains(sentence, page, StringComparison.Ordinal);
        Assert.Contains("Kept as typed.", page, StringComparison.Ordinal);
        Assert.Contains("Edition 1.", await (await office.GetAsync("/syllabus")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Two_people_at_once_do_not_overwrite_each_other()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        await office.PostFormAsync(Arrange, $"{Arrange}?handler=Up", ("Edition", "1"), ("key", "signals"));
        const string Said = "Somebody changed the syllabus after you opened it.";
        Assert.Contains(Said, await (await office.PostFormAsync(Arrange, $"{Arrange}?handler=Up", ("Edition", "1"), ("key", "signals"))).TextAsync(), StringComparison.Ordinal);
        Assert.Contains(Said, await (await office.PostFormAsync("/syllabus/skills/signals/change", ("Edition", "1"), ("Input.Name", "S"), ("Input.Group", "Basics"))).TextAsync(), StringComparison.Ordinal);
        Assert.Contains(Said, await (await office.PostFormAsync("/syllabus/new-skill", ("Edition", "1"), ("Input.Name", "S"), ("Input.Group", "Basics"))).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Skills_are_added_moved_retired_and_brought_back_and_groups_renamed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var edition = 1;
        Assert.Equal("/syllabus/skills/meeting-traffic", (await office.PostFormAsync(
            "/syllabus/new-skill", ("Edition", "1"), ("Input.Name", "Meeting traffic"), ("Input.Group", "Basics"), ("Input.NewGroup", "Our own"))).Headers.Location!.OriginalString);
        await DoAsync("Up", ("key", "meeting-traffic"));
        await DoAsync("Rename", ("group", "Basics"), ("name", "First things"));
        await DoAsync("Retire", ("key", "meeting-traffic"));
        await DoAsync("Back", ("key", "meeting-traffic"), ("group", "First things"));
        var history = await (await office.GetAsync("/syllabus/editions")).TextAsync();
        foreach (var sentence in new[]
        {
            "Added “Meeting traffic” to Our own.", "Moved “Meeting traffic” from Our own to Following routes.", "Renamed the group “Basics” to “First things”.",
            "Retired “Meeting traffic”.", "Brought “Meeting traffic” back, in First things.", "As shipped for Great Britain.",
        })
        {
            Assert.Contains(sentence, history, StringComparison.Ordinal);
        }

        async Task DoAsync(string handler, params (string, string)[] fields)
        {
            var answer = await office.PostFormAsync(Arrange, $"{Arrange}?handler={handler}", [("Edition", $"{++edition}"), .. fields]);
            Assert.True(answer.StatusCode == HttpStatusCode.Redirect, await answer.TextAsync());
        }
    }

    [Fact]
    public async Task A_skill_that_others_build_on_is_not_retired_and_wrong_presses_change_nothing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        await office.PostFormAsync("/syllabus/skills/signals/change", ("Edition", "1"), ("Input.Name", "Signals"), ("Input.Group", "Basics"), ("Input.Needs", "security"));
        await RefusedAsync("Retire", "“Security” cannot be retired while “Signals” builds on it.", ("key", "security"));
        await RefusedAsync("Retire", "There is no such skill", ("key", "juggling"));
        await RefusedAsync("Up", "There is no such skill");
        await RefusedAsync("Back", "There is no such skill", ("key", "security"), ("group", "Basics"));
        await RefusedAsync("Rename", "Enter a name for the group.", ("group", "Basics"), ("name", " "));
        await RefusedAsync("Rename", "There is no such group", ("group", "Nowhere"), ("name", "Somewhere"));
        await RefusedAsync("Rename", "Two groups are named", ("group", "Basics"), ("name", "manoeuvres"));
        Assert.Contains("Edition 2.", await (await office.GetAsync("/syllabus")).TextAsync(), StringComparison.Ordinal);

        async Task RefusedAsync(string handler, string sentence, params (string, string)[] fields) => Assert.Contains(
            sentence, await (await office.PostFormAsync(Arrange, $"{Arrange}?handler={handler}", [("Edition", "2"), .. fields])).TextAsync(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("6", "50", "from 7 to 365")]
    [InlineData("366", "50", "from 7 to 365")]
    [InlineData("", "50", "from 7 to 365")]
    [InlineData("42", "101", "from 0 to 100")]
    [InlineData("42", "-1", "from 0 to 100")]
    [InlineData("soon", "50", "Look at a skill again after")]
    public async Task Settings_out_of_their_bounds_are_told_beside_the_field(string days, string weight, string sentence)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await office.PostFormAsync("/syllabus/settings", ("Version", "1"), ("StaleDays", days), ("PracticeWeight", weight))).TextAsync();
        Assert.Contains("class=\"problems\"", page, StringComparison.Ordinal);
        Assert.Contains(sentence, page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Settings_are_saved_once_and_an_older_copy_is_refused()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync("/syllabus/settings", ("Version", "1"), ("StaleDays", "30"), ("PracticeWeight", "40"))).StatusCode);
        Assert.Contains("value=\"30\"", await office.GetStringAsync("/syllabus/settings"), StringComparison.Ordinal);
        Assert.Contains("Somebody changed this", await (await office.PostFormAsync("/syllabus/settings", ("Version", "1"), ("StaleDays", "31"), ("PracticeWeight", "40"))).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_press_too_many_logs_a_drive_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (pupil, other) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Bryony Vale"));
        using var own = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        using var foreign = await host.PagesAsAsync(await host.Data.PersonAsync(other));
        var id = RowId.New().ToString();
        (string, string)[] drive = [("DriveId", id), ("Input.On", "2026-03-01"), ("Input.Minutes", "400"), ("Input.Supervisor", "Fern")];
        await Task.WhenAll(Enumerable.Range(0, 3).Select(async _ =>
            Assert.Equal(HttpStatusCode.Redirect, (await own.PostFormAsync($"/syllabus/progress/{pupil.Id}/practice/new", drive)).StatusCode)));
        // The same id from somebody else's form is another drive.
        await foreign.PostFormAsync($"/syllabus/progress/{other.Id}/practice/new", drive);
        Assert.Equal(2, await host.WithDbAsync(db => db.Set<PrivatePractice>().CountAsync()));
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<PrivatePractice>().CountAsync(p => p.PupilId == pupil.Id)));
    }

    [Fact]
    public async Task A_drive_is_logged_changed_and_removed_on_the_pages_and_wrong_ones_are_told_beside_the_field()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var own = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var list = $"/syllabus/progress/{pupil.Id}/practice";
        var wrong = await (await own.PostFormAsync($"{list}/new", ("Input.On", "2026-03-03"), ("Input.Minutes", "lots"), ("Input.Supervisor", "Fern 🙂"), ("Input.Skills", "signals"))).TextAsync();
        Assert.Contains("class=\"problems\"", wrong, StringComparison.Ordinal);
        Assert.Contains("value=\"lots\"", wrong, StringComparison.Ordinal);
        Assert.Contains("Fern 🙂", wrong, StringComparison.Ordinal);
        Assert.Contains("This day is still to come", await (await own.PostFormAsync($"{list}/new", ("Input.On", "3/3/2026"), ("Input.Minutes", "30"), ("Input.Supervisor", "Fern"))).TextAsync(), StringComparison.Ordinal);
        await own.PostFormAsync($"{list}/new", ("Input.On", "2026-03-01"), ("Input.Minutes", "90"), ("Input.Supervisor", "Fern 🙂"), ("Input.Conditions", "Dark"), ("Input.Conditions", "Rain"), ("Input.Skills", "signals"));
        var page = await (await own.GetAsync(list)).TextAsync();
        Assert.Contains("1½ hours", page, StringComparison.Ordinal);
        Assert.Contains("in the dark, in the rain", page, StringComparison.Ordinal);
        Assert.Contains("The Highway Code, Annex 3", page, StringComparison.Ordinal);

        var drive = System.Text.RegularExpressions.Regex.Match(page, "/syllabus/practice/[0-9a-f-]+").Value;
        Assert.Contains("from 1 to 600", await (await own.PostFormAsync(drive, ("Version", "1"), ("Input.On", "2026-03-01"), ("Input.Minutes", "0"), ("Input.Supervisor", "Fern"))).TextAsync(), StringComparison.Ordinal);
        await own.PostFormAsync(drive, ("Version", "1"), ("Input.On", "2026-03-01"), ("Input.Minutes", "60"), ("Input.Supervisor", "Fern"));
        Assert.Contains("Somebody changed this", await (await own.PostFormAsync(drive, ("Version", "1"), ("Input.On", "2026-03-01"), ("Input.Minutes", "61"), ("Input.Supervisor", "Fern"))).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Somebody changed this", await (await own.PostFormAsync(drive, $"{drive}?handler=Remove", ("Version", "1"))).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(list, (await own.PostFormAsync(drive, $"{drive}?handler=Remove", ("Version", "2"))).Headers.Location!.OriginalString);
        Assert.Contains("No drives logged yet", await own.GetStringAsync(list), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.NotFound, (await own.GetAsync(drive)).StatusCode);
    }
}
