using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Web.Tests;

/// <summary>How the service says no: one code for one rule, spelled one way, in words for who reads them.</summary>
public sealed partial class RefusalTests(TestPostgres postgres)
{
    [Fact]
    public void Codes_are_spelled_in_one_way()
    {
        var codes = AllOfThem().SelectMany(source => Code().Matches(File.ReadAllText(source)), (source, match) => (Path.GetFileName(source), Code: match.Groups[1].Value)).ToList();
        Assert.True(codes.Count > 60);
        Assert.Equal([], codes.Where(found => !Spelling().IsMatch(found.Code)));
    }

    [Fact]
    public void Finished_sentences_are_never_reworded()
    {
        var reworded =
            from source in AllOfThem()
            from line in File.ReadLines(source)
            where line.Contains(".Replace(", StringComparison.Ordinal) && Prose().IsMatch(line)
            select $"{Path.GetFileName(source)}: {line.Trim()}";
        Assert.Equal([], reworded);
    }

    [Fact]
    public async Task The_same_no_is_worded_for_pupil_and_for_staff()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync();
        await host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.BirthDate, new LocalDate(2009, 3, 6))));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        var body = new { pupilId = pupil.Id, instructorId = instructor.Id, start = "2026-03-05T10:00:00Z", minutes = 60 };
        var toStaff = await SayAsync(office, body);
        var toPupil = await SayAsync(own, body);
        Assert.Equal(("pupil_too_young", "The pupil is under 17 on that date. Choose 6 March 2026 or later."), toStaff);
        Assert.Equal(("pupil_too_young", "You are under 17 on that date. Choose 6 March 2026 or later."), toPupil);
    }

    private static async Task<(string Code, string Detail)> SayAsync(HttpClient client, object body)
    {
        using var answer = await client.PostAsJsonAsync("/api/v1/lessons", body);
        Assert.Equal(HttpStatusCode.UnprocessableEntity, answer.StatusCode);
        var problem = (await answer.Content.ReadFromJsonAsync<JsonObject>())!;
        return (problem["code"]!.GetValue<string>(), problem["detail"]!.GetValue<string>());
    }

    private static IEnumerable<string> AllOfThem() =>
        Directory.EnumerateFiles(Path.Combine(Sources.Root, "src"), "*.cs", SearchOption.AllDirectories)
            .Where(path => !path.Contains("/obj/", StringComparison.Ordinal) && !path.Contains("/Migrations/", StringComparison.Ordinal));

    [GeneratedRegex("""(?:Refusal\.(?:Rule|Conflict)\(|new Refusal\(RefusalKind\.\w+,|new InputProblem\(|yield return (?:new|Stop|Item)\()\s*"([^"]*)"\s*,""")]
    private static partial Regex Code();

    [GeneratedRegex("^[a-z]+(_[a-z0-9]+)*$")]
    private static partial Regex Spelling();

    [GeneratedRegex("""\.Replace\("[^"]*[a-z] [a-z][^"]*"\s*,""")]
    private static partial Regex Prose();
}
