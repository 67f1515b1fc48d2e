using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.Records;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Database;

public sealed class TransactionsTests(TestPostgres postgres)
{
    [Fact]
    public async Task Rows_read_before_the_transaction_are_refused_and_those_only_looked_at_are_not()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        await host.WithDbAsync(async db =>
        {
            await db.Set<Instructor>().AsNoTracking().ToListAsync();
            Assert.True((await RenameAsync(db, instructor.Id)).Ok);
            await db.Set<Instructor>().ToListAsync();
            var refused = await Assert.ThrowsAsync<InvalidOperationException>(() => RenameAsync(db, instructor.Id));
            Assert.Contains(nameof(Instructor), refused.Message, StringComparison.Ordinal);
            return 0;
        });
    }

    [Theory]
    [InlineData(ClashAt.Statement, ClashMaker.Deadlock)]
    [InlineData(ClashAt.Statement, ClashMaker.Serialisation)]
    [InlineData(ClashAt.Commit, ClashMaker.Deadlock)]
    public async Task A_clash_in_a_nested_part_runs_the_outermost_again_from_its_beginning(object at, string code)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        await using var clashes = await ClashMaker.OnAsync(host);
        await clashes.ArmAsync((ClashAt)at, code);
        var (outer, inner) = (0, 0);
        var outcome = await host.WithDbAsync(db => db.InTransactionAsync<int>(
            async cancel =>
            {
                outer++;
                var renamed = await db.InTransactionAsync<Instructor>(
                    cancel =>
                    {
                        inner++;
                        return RenameAsync(db, instructor.Id);
                    },
                    cancel);
                return renamed.Ok ? outer : renamed.Refusal;
            },
            default));
        var (failed, changes) = await clashes.DisarmAsync();
        Assert.True(failed);
        Assert.Equal((true, 2, 2, 2), (outcome.Ok, outcome.Value, outer, inner));
        Assert.Equal(["update people.instructors name,version version +1"], changes.Where(change => change.Contains("instructors", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task A_clash_while_plain_SQL_runs_is_done_again_too()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        await using var clashes = await ClashMaker.OnAsync(host);
        await clashes.ArmAsync(ClashAt.Statement, ClashMaker.Serialisation);
        var rows = await host.WithDbAsync(db => db.InTransactionAsync<int>(
            async cancel => await db.Database.ExecuteSqlAsync($"UPDATE people.instructors SET name = 'Basil Thornby' WHERE id = {instructor.Id}", cancel), default));
        Assert.True((await clashes.DisarmAsync()).Failed);
        Assert.Equal((true, 1), (rows.Ok, rows.Value));
    }

    [Fact]
    public async Task What_clashes_every_time_ends_as_an_error_and_changes_nothing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var runs = 0;
        var thrown = await Assert.ThrowsAnyAsync<Exception>(() => host.WithDbAsync(db => db.InTransactionAsync<int>(
            async cancel =>
            {
                runs++;
                db.Add(new AuditEntry { At = host.Clock.GetCurrentInstant(), ByPersonId = Guid.Empty, ByName = "x", What = "x.y", AboutId = null, Words = "x" });
                await db.SaveChangesAsync(cancel);
                return await db.Database.ExecuteSqlRawAsync("DO $$ BEGIN RAISE EXCEPTION USING ERRCODE = '40P01'; END $$", cancel);
            },
            default)));
        Assert.True(Web.Platform.Database.Clashes.Is(thrown));
        Assert.Equal((4, false), (runs, await host.WithDbAsync(db => db.Set<AuditEntry>().AnyAsync(a => a.What == "x.y"))));
    }

    [Fact]
    public async Task A_nested_refusal_undoes_its_own_part_alone()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (kept, undone) = (await host.Data.InstructorAsync("Alder Fenwick"), await host.Data.InstructorAsync("Clover Ash"));
        var outcome = await host.WithDbAsync(db => db.InTransactionAsync<int>(
            async cancel =>
            {
                Assert.True((await RenameAsync(db, kept.Id)).Ok);
                var refused = await db.InTransactionAsync<Instructor>(
                    async cancel =>
                    {
                        await RenameAsync(db, undone.Id);
                        return Refusal.Rule("no", "No.");
                    },
                    cancel);
                Assert.False(refused.Ok);
                return 1;
            },
            default));
        Assert.True(outcome.Ok);
        Assert.Equal(
            ["Basil Thornby", "Clover Ash"],
            await host.WithDbAsync(db => db.Set<Instructor>().OrderBy(i => i.Name).Select(i => i.Name).ToListAsync()));
    }

    private static Task<Outcome<Instructor>> RenameAsync(SchoolDb db, Guid id) => db.InTransactionAsync<Instructor>(
        async cancel =>
        {
            var row = await db.Set<Instructor>().SingleAsync(i => i.Id == id, cancel);
            row.Name = "Basil Thornby";
            return row;
        },
        default);
}
