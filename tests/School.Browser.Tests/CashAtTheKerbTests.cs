using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using School.Tests;
using School.Web.Modules.Accounts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>What is due is taken where the lesson ended, with one tap, with signal and without.</summary>
public sealed class CashAtTheKerbTests(TestPostgres postgres, Chromium chromium)
{
    private const string Cash = "Took £45.00 in cash";

    [Fact]
    public async Task Cash_taken_without_signal_is_in_the_books_once_beside_the_record_and_the_next_lesson()
    {
        await using var phone = await InstructorPhone.StartAsync(postgres, chromium);
        await phone.Host.OpenBooksAsync();
        await phone.WriteWithoutSignalAsync("75", "Roundabouts.");
        await phone.Walk.PressAsync("What comes next");
        await phone.SeeAsync("No connection. As it stood at");
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = Cash }).DblClickAsync();
        await phone.SeeAsync("Not yet sent (1). Kept on this phone.");
        await phone.Walk.ExpectAccessibleAsync();
        await phone.Walk.ExpectNoSidewaysScrollAsync();
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Book Monday 9 March" }).ClickAsync();
        await Assertions.Expect(phone.Page.Locator(".top .unsent")).ToHaveTextAsync("Not yet sent (3)");
        await phone.Page.GotoAsync("/syllabus/queue");
        await phone.SeeAsync("£45.00 from Idris Bell");
        await phone.SeeAsync(Cash);

        await phone.SignalAsync(true);
        await phone.SentAsync();
        Assert.Equal(LessonState.Taught, (await phone.LessonAsync()).State);
        Assert.Equal((45_00, PaymentMethod.Cash, phone.Day.Marigold.Id), await PaidAsync(phone));
        Assert.Equal(0, await OwedAsync(phone));
        Assert.Equal(1, await phone.Host.WithDbAsync(db => db.Set<Lesson>().CountAsync(l => l.PupilId == phone.Day.Idris.Id && l.StartsAt > LarkfieldMonday.At(23, 0))));
        await phone.Page.GotoAsync(LessonPages.Next(phone.Day.OnNow.Id));
        await phone.SeeAsync("Nothing is to be paid");
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task With_signal_it_is_one_tap_with_and_without_scripts(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        await host.OpenBooksAsync();
        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.PersonAsync(day.Marigold));
        await walk.Page.GotoAsync($"/syllabus/lessons/{day.OnNow.Id}/record");
        await walk.Page.GetByLabel("One sentence for the pupil").FillAsync("Roundabouts.");
        await walk.PressAsync("Record as taught");
        await walk.PressAsync(Cash);
        await Assertions.Expect(walk.Page.Locator("main")).ToContainTextAsync("Nothing is to be paid");
        Assert.EndsWith("/next", new Uri(walk.Page.Url).AbsolutePath, StringComparison.Ordinal);
        Assert.Equal(45_00, await host.WithDbAsync(db => db.Set<Payment>().SumAsync(p => p.Pence)));
    }

    private static Task<(long Pence, PaymentMethod Method, Guid Holder)> PaidAsync(InstructorPhone phone) => phone.Host.WithDbAsync(async db =>
    {
        var payment = await db.Set<Payment>().SingleAsync();
        return (payment.Pence, payment.Method, payment.HolderId!.Value);
    });

    private static Task<long> OwedAsync(InstructorPhone phone) => phone.Host.WithDbAsync(db =>
        db.Set<EntryLine>().Where(l => l.PupilId == phone.Day.Idris.Id && l.Account == School.Core.Accounts.LedgerAccount.Receivable).SumAsync(l => l.Pence));
}
