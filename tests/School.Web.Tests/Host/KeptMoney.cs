using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Accounts;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Tests.Host;

/// <summary>Books with something in them.</summary>
internal static class KeptMoney
{
    /// <summary>By the service itself, where they are not open yet.</summary>
    public static async Task OpenBooksAsync(this SchoolHost host, int late = 100)
    {
        await using var scope = host.Services.CreateAsyncScope();
        var opened = await scope.ServiceProvider.GetRequiredService<OpenBooks>().RunAsync(Viewer.Service, new() { PencePerHour = 36_00, FreeAYear = 0, LatePercent = late, NeedsReminder = false }, CancellationToken.None);
        Assert.True(opened.Ok || opened.Refusal.Code == "books_open_already");
    }

    /// <summary>Hours sold, paid for and partly taught, by the verbs.</summary>
    public static async Task KeepMoneyAsync(this SchoolHost host, Guid? of = null)
    {
        await host.OpenBooksAsync();
        var (pupil, instructor, car) = await host.WithDbAsync(async db =>
            (of ?? await db.Set<Pupil>().Select(p => p.Id).FirstAsync(), await db.Set<Instructor>().Select(i => i.Id).FirstAsync(), await db.Set<Car>().Select(c => c.Id).FirstAsync()));
        await using var scope = host.Services.CreateAsyncScope();
        var services = scope.ServiceProvider;
        var now = services.GetRequiredService<IClock>().GetCurrentInstant();
        Assert.True((await services.GetRequiredService<SellBlock>().RunAsync(Viewer.Service, pupil, new() { Minutes = 120, Pence = 70_00 }, CancellationToken.None)).Ok);
        Assert.True((await services.GetRequiredService<TakePayment>().RunAsync(Viewer.Service, pupil, new() { Pence = 70_00, Method = PaymentMethod.Card }, CancellationToken.None)).Ok);
        var lesson = new LessonToCharge(Guid.NewGuid(), pupil, instructor, car, LessonKind.Standard, now, 60, now);
        var money = services.GetServices<ILessonCharges>().OfType<LessonAccounts>().Single();
        Assert.True((await services.GetRequiredService<SchoolDb>().InTransactionAsync<string>(
            async cancel =>
            {
                await money.TaughtAsync(lesson, Viewer.Service, cancel);
                return "posted";
            },
            CancellationToken.None)).Ok);
    }
}
