using System.Net;
using System.Net.Http.Json;
using System.Text;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Platform.Api;
using School.Web.Tests.Host;

namespace School.Web.Tests.Pupils;

public sealed class GuardedTests(TestPostgres postgres)
{
    // Made after the published form (GOV.UK One Login, ipv-cri-dl-front, fields.js): woman, born 4 May 2007.
    private const string Number = "OAKLE055047T99AA";
    private const string Health = "Wears a hearing aid on the left. دواء";

    [Fact]
    public async Task Driver_number_and_health_notes_rest_encrypted_and_open_again()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var made = await office.PostAsJsonAsync("/api/v1/pupils", Tamsin.With("driverNumber", "oakle 055047 t99aa").With("healthNotes", Health));
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        var row = (await host.WithDbAsync(db => db.Database.SqlQuery<string>($"SELECT p::text AS \"Value\" FROM pupils.pupils p").ToListAsync())).Single();
        Assert.DoesNotContain("OAKLE0", row, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain("hearing", row, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain(Convert.ToBase64String(Encoding.UTF8.GetBytes("hearing aid")), row, StringComparison.Ordinal);
        Assert.DoesNotContain("driverNumber", await made.Content.ReadAsStringAsync(), StringComparison.OrdinalIgnoreCase);

        var opened = await (await office.GetAsync($"{made.Headers.Location}/guarded")).JsonAsync();
        Assert.Equal((Number, Health), (opened.GetProperty("driverNumber").GetString(), opened.GetProperty("healthNotes").GetString()));
    }

    [Fact]
    public async Task A_driver_number_must_agree_with_the_birth_date()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        // Published specimen, born 5 July 1964: well formed, but not hers.
        Assert.Equal(["driverNumber"], await (await office.PostAsJsonAsync("/api/v1/pupils", Tamsin.With("driverNumber", "MORGA657054SM9IJ"))).WrongFieldsAsync());
        var made = await office.PostAsJsonAsync("/api/v1/pupils", Tamsin.With("driverNumber", Number));
        var moved = await office.SendAsync(
            HttpMethod.Put, made.Headers.Location!.ToString(), Tamsin.With("birthDate", "2007-05-05"), ("If-Match", made.Headers.ETag!.ToString()));
        Assert.Equal(["birthDate"], await moved.WrongFieldsAsync());
        var wrong = await office.SendAsync(HttpMethod.Put, $"{made.Headers.Location}/guarded", new { driverNumber = "MORGA657054SM9IJ" }, ("If-Match", "*"));
        Assert.Equal(["driverNumber"], await wrong.WrongFieldsAsync());
        Assert.DoesNotContain("MORGA", await wrong.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Staff_who_open_what_is_guarded_leave_a_line_in_the_audit_and_a_pupil_reads_their_own()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var teacher = await host.Data.InstructorAsync("Marigold Ashby");
        var pupil = await host.Data.PupilAsync(instructor: teacher.Id);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync("Rosalind Pike"));
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(teacher));
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        var url = $"/api/v1/pupils/{pupil.Id}/guarded";
        Assert.Equal(HttpStatusCode.NoContent, (await office.SendAsync(HttpMethod.Put, url, new { driverNumber = Number, healthNotes = Health }, ("If-Match", "*"))).StatusCode);
        Assert.Equal(Health, (await (await instructor.GetAsync(url)).JsonAsync()).GetProperty("healthNotes").GetString());
        Assert.Equal(Health, (await (await own.GetAsync(url)).JsonAsync()).GetProperty("healthNotes").GetString());
        Assert.Equal(HttpStatusCode.Forbidden, (await own.SendAsync(HttpMethod.Put, url, new { }, ("If-Match", "*"))).StatusCode);

        var audit = await office.GetAsync($"/api/v1/audit?aboutId={pupil.Id}");
        var lines = (await audit.JsonAsync()).GetProperty("items").EnumerateArray()
            .Select(l => $"{l.GetProperty("byName")} {l.GetProperty("what")}");
        Assert.Equal(["Marigold Ashby pupil.guarded.read", "Rosalind Pike pupil.guarded.change"], lines);
        Assert.DoesNotContain("hearing", await audit.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_kept_answer_for_repeats_never_holds_what_is_guarded()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var made = await office.SendAsync(
            HttpMethod.Post, "/api/v1/pupils", Tamsin.With("driverNumber", Number).With("healthNotes", Health), ("Idempotency-Key", "first"));
        var changed = await office.SendAsync(
            HttpMethod.Put, $"{made.Headers.Location}/guarded", new { driverNumber = Number, healthNotes = Health }, ("If-Match", "*"), ("Idempotency-Key", "second"));
        Assert.Equal(HttpStatusCode.NoContent, changed.StatusCode);
        var kept = await host.WithDbAsync(db => db.Set<IdempotentAnswer>().Select(a => a.Body).ToListAsync());
        Assert.Equal(2, kept.Count);
        Assert.All(kept, body => Assert.DoesNotContain("hearing", Encoding.UTF8.GetString(body), StringComparison.Ordinal));
        Assert.All(kept, body => Assert.DoesNotContain("OAKLE0", Encoding.UTF8.GetString(body), StringComparison.Ordinal));
    }
}
