using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Database;

/// <summary>Questions that go together are answered as if they had gone one after the other.</summary>
public sealed class ReadTogetherTests(TestPostgres postgres)
{
    [Fact]
    public async Task They_go_in_one_way_and_each_has_its_own_answer()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (ashby, bell) = (await host.Data.InstructorAsync("Marigold Ashby"), await host.Data.InstructorAsync("Basil Bell"));
        await using var scope = host.Services.CreateAsyncScope();
        var db = scope.ServiceProvider.GetRequiredService<SchoolDb>();
        using var counter = new QueryCounter(host.ConnectionString);

        var together = new ReadTogether(db);
        together.Lock(["one", "another"]);
        var all = together.Ask(db.Set<Instructor>().AsNoTracking().OrderBy(i => i.Name));
        var none = together.Ask(db.Set<Instructor>().Where(i => i.Name == "Nobody"));
        together.Savepoint("between");
        var one = together.Ask(db.Set<Instructor>().Where(i => i.Id == ashby.Id));
        var count = together.Ask(db.Set<Instructor>().GroupBy(_ => 1).Select(g => g.Count()));
        await using (var transaction = await db.Database.BeginTransactionAsync(TestContext.Current.CancellationToken))
        {
            await together.RunAsync(default);
        }

        Assert.Equal(1, counter.Count);
        Assert.Equal([bell.Id, ashby.Id], all.All.Select(i => i.Id));
        Assert.Empty(none.All);
        Assert.Equal(EntityState.Unchanged, db.Entry(Assert.Single(one.All)).State);
        Assert.Equal([2], count.All);
        // What is asked alone afterwards is asked of the database.
        Assert.Equal(2, await db.Set<Instructor>().CountAsync(TestContext.Current.CancellationToken));
        Assert.Equal(2, counter.Count);
    }

    [Fact]
    public async Task What_stands_behind_a_lock_is_what_stood_after_it_was_had()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync("Marigold Ashby");
        await using var first = host.Services.CreateAsyncScope();
        await using var second = host.Services.CreateAsyncScope();
        var (before, behind) = (first.ServiceProvider.GetRequiredService<SchoolDb>(), second.ServiceProvider.GetRequiredService<SchoolDb>());
        await using var holds = await before.Database.BeginTransactionAsync(TestContext.Current.CancellationToken);
        await before.LockAsync(["the diary"], default);
        await using var waits = await behind.Database.BeginTransactionAsync(TestContext.Current.CancellationToken);
        var together = new ReadTogether(behind);
        together.Lock(["the diary"]);
        var names = together.Ask(behind.Set<Instructor>().AsNoTracking().Select(i => i.Name));
        var reading = together.RunAsync(default);

        (await before.Set<Instructor>().SingleAsync(i => i.Id == instructor.Id, TestContext.Current.CancellationToken)).Name = "Marigold Bell";
        await before.SaveChangesAsync(TestContext.Current.CancellationToken);
        Assert.False(reading.IsCompleted);
        await holds.CommitAsync(TestContext.Current.CancellationToken);
        await reading;

        Assert.Equal(["Marigold Bell"], names.All);
    }

    [Fact]
    public async Task What_was_given_under_the_locks_holds_until_the_transaction_writes_or_ends()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync("Marigold Ashby");
        await using var scope = host.Services.CreateAsyncScope();
        var (db, book) = (scope.ServiceProvider.GetRequiredService<SchoolDb>(), scope.ServiceProvider.GetRequiredService<InstructorBook>());
        var given = (await book.FindAsync(instructor.Id, default))! with { Name = "As given" };
        async Task<string> NameAsync() => (await book.FindAsync(instructor.Id, default))!.Name;

        var outcome = await db.InTransactionAsync<string>(async cancel =>
        {
            book.Give([given]);
            var seen = $"{await NameAsync()}, {(await book.NamesAsync(cancel))[instructor.Id]}";
            (await db.Set<Instructor>().SingleAsync(cancel)).Name = "Marigold Bell";
            await db.SaveChangesAsync(cancel);
            return $"{seen}, {await NameAsync()}";
        }, default);
        await db.InTransactionAsync<string>(
            cancel =>
            {
                book.Give([given]);
                return Task.FromResult<Outcome<string>>(Refusal.NotFound("nothing"));
            },
            default);

        Assert.Equal(("As given, As given, Marigold Bell", "Marigold Bell"), (outcome.Value, await NameAsync()));
    }

    [Fact]
    public async Task A_savepoint_made_with_the_first_reads_undoes_what_joins_first_and_nothing_that_came_before()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (ashby, bell) = (await host.Data.InstructorAsync("Marigold Ashby"), await host.Data.InstructorAsync("Basil Bell"));
        await using var scope = host.Services.CreateAsyncScope();
        var db = scope.ServiceProvider.GetRequiredService<SchoolDb>();

        foreach (var alone in new[] { false, true })
        {
            await using var transaction = await db.Database.BeginTransactionAsync(TestContext.Current.CancellationToken);
            var together = new ReadTogether(db);
            together.SaveFor(transaction);
            var any = together.Ask(db.Set<Instructor>().AsNoTracking());
            await together.RunAsync(default);
            Assert.Equal(2, any.All.Count);
            if (alone)
            {
                await db.AloneAsync(() => db.Set<Instructor>().Where(i => i.Id == bell.Id).ExecuteUpdateAsync(set => set.SetProperty(i => i.Name, "Basil Croft")), default);
            }

            var refused = await db.InTransactionAsync<string>(
                async cancel =>
                {
                    await db.Set<Instructor>().Where(i => i.Id == ashby.Id).ExecuteUpdateAsync(set => set.SetProperty(i => i.Name, "Undone"), cancel);
                    return Refusal.NotFound("nothing");
                },
                default);
            Assert.False(refused.Ok);
            await transaction.CommitAsync(TestContext.Current.CancellationToken);
            Assert.Equal([alone ? "Basil Croft" : "Basil Bell", "Marigold Ashby"], await db.Set<Instructor>().Select(i => i.Name).Order().ToListAsync(TestContext.Current.CancellationToken));
        }
    }
}
