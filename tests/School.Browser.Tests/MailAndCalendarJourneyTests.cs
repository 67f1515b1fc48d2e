using Ical.Net;
using Ical.Net.CalendarComponents;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using MimeKit;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>What a pupil gets beside the pages: the three mails, and the lesson in the calendar that they subscribed to.</summary>
public sealed class MailAndCalendarJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Booking_moving_and_cancelling_reach_the_mailbox_and_the_subscribed_calendar(bool javaScript)
    {
        var folder = Directory.CreateTempSubdirectory("school-mail-");
        try
        {
            await using var host = await SchoolHost.ListeningAsync(postgres, ("Mail:Folder", folder.FullName));
            var url = host.Url;
            var instructor = await host.Data.InstructorAsync();
            var pupil = await host.Data.PupilAsync("Tamsin Oakley", instructor: instructor.Id);
            await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript });
            var page = walk.Page;

            await host.Data.PersonAsync(pupil);
            await page.GotoAsync("/people/sign-in");
            await page.GetByLabel("E-mail").FillAsync(pupil.Email);
            await page.GetByLabel("Password").FillAsync(SchoolHost.Password);
            await page.Locator("main").GetByRole(AriaRole.Button).First.ClickAsync();

            await page.GotoAsync("/calendars");
            await page.GetByRole(AriaRole.Button, new() { Name = "Make the address" }).ClickAsync();
            var address = await page.Locator("a[href^='webcal:']").First.GetAttributeAsync("href");
            var feed = new Uri(address!.Replace("webcal:", "https:", StringComparison.Ordinal)).PathAndQuery;

            await page.GotoAsync("/diary/book");
            await page.Locator(".free-day summary", new() { HasText = "Thursday 5 March" }).ClickAsync();
            await page.Locator(".free-day[open] .starts a", new() { HasText = "Thursday 5 March, 14:00" }).ClickAsync();
            await page.GetByRole(AriaRole.Button, new() { Name = "Book Thursday 5 March, 14:00" }).ClickAsync();
            var booked = Assert.Single((await SubscribeAsync(url + feed)).Events);
            Assert.Equal("CONFIRMED", booked.Status);
            Assert.Equal((5, 14, 0), LocalStart(booked));

            await walk.PressAsync("Move lesson");
            await page.Locator(".free-day summary", new() { HasText = "Friday 6 March" }).ClickAsync();
            await page.Locator(".free-day[open] .starts a", new() { HasText = "Friday 6 March, 09:15" }).ClickAsync();
            await page.GetByRole(AriaRole.Button, new() { Name = "Move to Friday 6 March, 09:15" }).ClickAsync();
            var moved = Assert.Single((await SubscribeAsync(url + feed)).Events);
            Assert.Equal((booked.Uid, (6, 9, 15)), (moved.Uid, LocalStart(moved)));
            Assert.True(moved.Sequence > booked.Sequence);

            await walk.PressAsync("Cancel lesson");
            await page.GetByRole(AriaRole.Button, new() { Name = "Cancel lesson, free of charge" }).ClickAsync();
            var cancelled = Assert.Single((await SubscribeAsync(url + feed)).Events);
            Assert.Equal((booked.Uid, "CANCELLED"), (cancelled.Uid, cancelled.Status));

            await using var scope = host.Services.CreateAsyncScope();
            await scope.ServiceProvider.GetRequiredService<SendDueMessages>().RunAsync(CancellationToken.None);
            var mails = folder.GetFiles("*.eml", SearchOption.AllDirectories).Select(file => MimeMessage.Load(file.FullName))
                .Where(mail => mail.To.Mailboxes.Any(to => to.Address == pupil.Email)).ToList();
            Assert.Equal(3, mails.Count);
            Assert.All(mails, mail => Assert.True(mail.TextBody is { Length: > 0 } && mail.HtmlBody is { Length: > 0 }, mail.Subject));
            Assert.Equal(3, mails.Select(mail => mail.MessageId).Distinct().Count());
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    /// <summary>Day, hour and minute in March 2026, as the calendar shows them.</summary>
    private static (int Day, int Hour, int Minute) LocalStart(CalendarEvent lesson) =>
        (lesson.DtStart!.Day, lesson.DtStart.Hour, lesson.DtStart.Minute);

    private static async Task<Calendar> SubscribeAsync(string address)
    {
        using var client = new HttpClient();
        return Calendar.Load(await client.GetStringAsync(address))!;
    }
}
