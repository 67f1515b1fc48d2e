using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Forms;

/// <summary>All that is wrong with a form is told in one round, in the order of the page, and nothing is kept. It is Monday 2 March 2026.</summary>
public sealed partial class OneRoundTests(TestPostgres postgres)
{
    [Fact]
    public async Task Somebody_put_beside_a_pupil()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var form = $"/pupils/{school.PupilId}/beside";
        var wrong = await (await office.PostFormAsync(
            form, form, ("New.Name", ""), ("New.Phone", "12"), ("New.Email", ""), ("Input.Relation", new string('x', 200)), ("Progress", "true"), ("Input.GetsLetters", "true"))).TextAsync();
        Assert.Equal(["New_Name", "New_Kind", "New_Phone", "Input_Relation", "Input_GetsLetters", "Input_GetsLetters", "Agreed"], Summary(wrong));
        // Agreed, it is the same but for that; and so it is for somebody of whom no kind is known.
        wrong = await (await office.PostFormAsync(
            form, form, ("New.Name", "Ivy Fenn"), ("New.Phone", ""), ("New.Email", ""), ("New.Kind", "uncle"), ("Input.Relation", new string('x', 200)), ("Progress", "true"), ("Agreed", "true"))).TextAsync();
        Assert.Equal(["New_Kind", "New_Phone", "Input_Relation"], Summary(wrong).Select(id => id == "New_Email" ? "New_Phone" : id).Distinct());
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<Contact>().CountAsync()));
    }

    [Fact]
    public async Task A_pupil_handed_over()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var form = $"/diary/hand-overs?pupil={school.PupilId}";
        Assert.Equal(["Input_InstructorId", "Input_From"], Summary(await (await office.PostFormAsync(form, form, ("Input.InstructorId", ""), ("Input.From", "2026-03-01"))).TextAsync()));
        Assert.Equal(["Input_InstructorId", "Input_From"], Summary(await (await office.PostFormAsync(form, form, ("Input.InstructorId", ""), ("Input.From", "someday"))).TextAsync()));
        Assert.Equal(["Input_InstructorId", "Input_From"], Summary(await (await office.PostFormAsync(form, form, ("Input.InstructorId", ""), ("Input.From", ""))).TextAsync()));
    }

    [Fact]
    public async Task Somebody_of_the_office()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var before = await school.Host.WithDbAsync(db => db.Set<Person>().CountAsync());
        var wrong = await (await office.PostFormAsync("/people/office", "/people/office?handler=Invite", ("Name", " "), ("Email", "nowhere"))).TextAsync();
        // What is wrong with the parts leads to the first of them, and stands beside them too.
        Assert.Equal(["Name", "Email", "Parts_Diary"], Summary(wrong));
        Assert.Contains("href=\"#Parts_Diary\">Choose what of the office they look after: at least one part.", wrong, StringComparison.Ordinal);
        Assert.Contains("id=\"Parts-error\">Choose what of the office they look after: at least one part.", wrong, StringComparison.Ordinal);
        Assert.Contains("id=\"Parts_Diary\"", wrong, StringComparison.Ordinal);
        Assert.Equal(before, await school.Host.WithDbAsync(db => db.Set<Person>().CountAsync()));
    }

    [Fact]
    public async Task Somebody_who_would_wear_no_hat()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var other = await school.Host.Data.WearerAsync("Bryony Vale", "bryony@larkfield.example", Web.Platform.Access.OfficeParts.Diary);
        var form = $"/people/hats/{other.Id}";
        var wrong = await (await office.PostFormAsync(form, form, ("Version", "1"), ("InstructorId", ""))).TextAsync();
        Assert.Equal(["Parts_Diary"], Summary(wrong));
        Assert.Contains("id=\"Parts-error\">", wrong, StringComparison.Ordinal);
    }

    /// <summary>The fields to which the summary of faults leads, in its order.</summary>
    private static List<string> Summary(string page) => [.. Leads().Matches(page.Split("class=\"problems\"").ElementAtOrDefault(1)?.Split("</ul>")[0] ?? "").Select(lead => lead.Groups[1].Value)];

    [GeneratedRegex("href=\"#([^\"]+)\"")]
    private static partial Regex Leads();
}
