using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using School.Tests;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Database;

public sealed class ReadOnceTests(TestPostgres postgres)
{
    [Fact]
    public async Task One_request_reads_once_and_the_next_reads_anew()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync("Marigold Ashby");
        await using var scope = host.Services.CreateAsyncScope();
        var book = scope.ServiceProvider.GetRequiredService<InstructorBook>();
        using var statements = new Statements(host);
        Assert.Equal("Marigold Ashby", (await book.NamesAsync(default))[instructor.Id]);
        Assert.Equal("Marigold Ashby", Assert.Single(await book.ListAsync(alsoRetired: true, default)).Name);
        Assert.Single(statements.Take());

        await RenameAsync(host, instructor.Id, "Marigold Bell");

        await using var next = host.Services.CreateAsyncScope();
        Assert.Equal("Marigold Bell", (await next.ServiceProvider.GetRequiredService<InstructorBook>().NamesAsync(default))[instructor.Id]);
    }

    [Fact]
    public async Task A_transaction_reads_anew_and_a_change_of_its_own_is_seen_after_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync("Marigold Ashby");
        await using var scope = host.Services.CreateAsyncScope();
        var (db, book) = (scope.ServiceProvider.GetRequiredService<SchoolDb>(), scope.ServiceProvider.GetRequiredService<InstructorBook>());
        await book.NamesAsync(default);
        await RenameAsync(host, instructor.Id, "Marigold Bell");

        var outcome = await db.InTransactionAsync<string>(async cancel =>
        {
            var seen = (await book.NamesAsync(cancel))[instructor.Id];
            (await db.Set<Instructor>().SingleAsync(cancel)).Name = "Marigold Croft";
            return seen;
        }, default);

        Assert.Equal(("Marigold Bell", "Marigold Croft"), (outcome.Value, (await book.NamesAsync(default))[instructor.Id]));
    }

    [Fact]
    public async Task What_is_read_ahead_comes_in_one_way_is_found_later_and_is_not_asked_where_a_transaction_reads_anew()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync("Marigold Ashby");
        await using var scope = host.Services.CreateAsyncScope();
        var (db, book) = (scope.ServiceProvider.GetRequiredService<SchoolDb>(), scope.ServiceProvider.GetRequiredService<InstructorBook>());
        var pictures = scope.ServiceProvider.GetRequiredService<PictureLoader>();
        using var costs = await DatabaseCosts.OnAsync(host);
        costs.Take();
        await pictures.AheadAsync(default);
        Assert.Equal((1, 7), Ways(costs));
        Assert.Equal("Marigold Ashby", (await book.NamesAsync(default))[instructor.Id]);
        await pictures.RulesAsync(default);
        await pictures.AheadAsync(default);
        Assert.Equal((0, 0), Ways(costs));

        await RenameAsync(host, instructor.Id, "Marigold Bell");
        var seen = await db.InTransactionAsync<string>(async cancel =>
        {
            await pictures.AheadAsync(cancel);
            return (await book.NamesAsync(cancel))[instructor.Id];
        }, default);
        Assert.Equal("Marigold Bell", seen.Value);

        static (int, int) Ways(DatabaseCosts costs)
        {
            var (sent, asked) = costs.Take();
            return (sent.Count, asked.Count);
        }
    }

    [Fact]
    public async Task What_search_keeps_under_a_version_was_read_after_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync("Marigold Ashby");
        await using var scope = host.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<InstructorBook>().NamesAsync(default);
        await RenameAsync(host, instructor.Id, "Marigold Bell");

        var prepared = await scope.ServiceProvider.GetRequiredService<PreparedDiaries>().ReadAsync(new(2026, 3, 5), new(2026, 3, 5), null, [], default);

        Assert.Equal("Marigold Bell", prepared!.Standing.Loaded.Instructors[instructor.Id].Name);
    }

    private static Task<Outcome<Instructor>> RenameAsync(SchoolHost host, Guid id, string name) => host.WithDbAsync(db => db.InTransactionAsync<Instructor>(async cancel =>
    {
        var row = await db.Set<Instructor>().SingleAsync(i => i.Id == id, cancel);
        row.Name = name;
        return row;
    }, default));
}
