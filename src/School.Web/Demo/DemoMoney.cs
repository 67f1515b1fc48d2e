using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Accounts;
using School.Web.Modules.Accounts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Demo;

/// <summary>The books of the invented school: some buy ten hours ahead, most pay each lesson, a few owe.</summary>
internal sealed class DemoMoney(IServiceProvider services, DemoClock clock, Instant now)
{
    private const long Hour = 37_00;
    private const int TenHours = 600;
    private const long ForTen = 350_00;

    private const string Words = """
        A lesson is free to cancel or move until 48 hours before it begins. After that its price is charged, and so is a lesson to which you do not come.
        Once a year we let it pass. What we call off, for illness, the car or the weather, costs you nothing.
        Hours bought ahead do not expire. Within 14 days of buying them you may cancel; what was taught by then is paid for in proportion if you asked us to begin.
        Later we give back what is left in proportion.
        """;

    /// <summary>Before the first lesson: the books, the terms and the first prepaid hours.</summary>
    public async Task OpenAsync(IReadOnlyList<DemoPupil> pupils)
    {
        await DoAsync<OpenBooks, Book>(Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, new() { PencePerHour = Hour, MissedPercent = 100, LatePercent = 100 }, cancel));
        await DoAsync<AddPrice, PriceRow>(Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, new() { Pence = 42_00, Kind = Core.Diary.LessonKind.Motorway }, cancel));
        await DoAsync<AddPrice, PriceRow>(Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, new() { Pence = 40_00, Days = 1 << 5 }, cancel));
        var terms = await DoAsync<WriteTerms, Terms>(Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, new() { Text = Words }, cancel));
        foreach (var pupil in pupils)
        {
            if (pupil.Number % 9 != 4)
            {
                var viewer = new Viewer(pupil.Pupil.Id, OfficeParts.None, null, pupil.Pupil.Id, pupil.Pupil.Name);
                await DoAsync<AcceptTerms, TermsAccepted>(viewer, (verb, cancel) => verb.RunAsync(viewer, pupil.Pupil.Id, terms.Number, cancel));
            }

            if (BuysAhead(pupil))
            {
                await SellAsync(pupil);
            }
        }
    }

    /// <summary>After the lessons: what was paid for them at the kerb or by transfer, and what is still owed.</summary>
    public async Task PayAsync(IReadOnlyList<DemoPupil> pupils)
    {
        var paid = new List<(Instant At, DemoPupil Pupil, long Pence, PaymentMethod Method)>();
        foreach (var pupil in pupils)
        {
            var charged = await ReadAsync(db => db.Set<Entry>().AsNoTracking().Include(e => e.Lines).Where(e => e.PupilId == pupil.Pupil.Id && e.LessonStartsAt != null)
                .OrderBy(e => e.LessonStartsAt).ToListAsync());
            // One in seven leaves the last two open.
            foreach (var entry in charged.SkipLast(pupil.Number % 7 == 2 ? 2 : 0))
            {
                var pence = entry.Lines.Where(line => line.Account == LedgerAccount.Receivable).Sum(line => line.Pence);
                var at = entry.LessonStartsAt!.Value + Duration.FromMinutes(70);
                if (pence > 0 && at < now)
                {
                    paid.Add((at, pupil, pence, (pupil.Number % 3) switch { 0 => PaymentMethod.Cash, 1 => PaymentMethod.Card, _ => PaymentMethod.Transfer }));
                }
            }
        }

        foreach (var (at, pupil, pence, method) in paid.OrderBy(one => one.At))
        {
            clock.Now = at;
            var viewer = method == PaymentMethod.Transfer ? Viewer.Service : new Viewer(pupil.Instructor.Id, OfficeParts.None, pupil.Instructor.Id, null, pupil.Instructor.Name);
            await DemoVerbs.TryAsync<TakePayment, Payment>(services, viewer, (verb, cancel) => verb.RunAsync(viewer, pupil.Pupil.Id, new() { Pence = pence, Method = method, Again = true }, cancel));
        }

        clock.Now = now - Duration.FromDays(5);
        var held = await ReadAsync(db => db.Set<EntryLine>().AsNoTracking().Where(l => l.Account == LedgerAccount.Cash && l.HolderId != null)
            .GroupBy(l => l.HolderId).Select(g => new { g.Key, Pence = g.Sum(l => l.Pence) }).ToListAsync());
        foreach (var cash in held.OrderBy(cash => cash.Key).Skip(1))
        {
            await DoAsync<HandInCash, Entry>(Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, new() { InstructorId = cash.Key, Pence = cash.Pence }, cancel));
        }

        clock.Now = now;
    }

    private static bool BuysAhead(DemoPupil pupil) => pupil.Number % 4 == 0;

    private async Task SellAsync(DemoPupil pupil)
    {
        await DoAsync<SellBlock, Block>(Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, pupil.Pupil.Id, new() { Minutes = TenHours, Pence = ForTen, AskedToBegin = true }, cancel));
        await DoAsync<TakePayment, Payment>(Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, pupil.Pupil.Id, new() { Pence = ForTen, Method = PaymentMethod.Transfer }, cancel));
    }

    private Task<T> DoAsync<TVerb, T>(Viewer viewer, Func<TVerb, CancellationToken, Task<Platform.Errors.Outcome<T>>> run)
        where TVerb : notnull
        where T : notnull => DemoVerbs.DoAsync(services, viewer, run);

    private async Task<T> ReadAsync<T>(Func<SchoolDb, Task<T>> read)
    {
        await using var scope = services.CreateAsyncScope();
        return await read(scope.ServiceProvider.GetRequiredService<SchoolDb>());
    }
}
