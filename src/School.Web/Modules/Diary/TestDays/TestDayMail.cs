using NodaTime;
using NodaTime.TimeZones;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>
/// Writes the messages about a test day in the transaction of its change: to the pupil and to the instructor who goes along,
/// never to who did it. Reminders follow the test day: each change of it withdraws the old ones and writes new ones.
/// </summary>
internal sealed class TestDayMail(
    Outbox outbox, TestDayDates dates, PupilBook pupils, InstructorBook instructors, SchoolInfo school, PublicUrl url, IClock clock)
{
    public const string Entered = "test_day_entered";
    public const string Changed = "test_day_changed";
    public const string TakenOff = "test_day_taken_off";
    public const string LastFreeDay = "test_last_free_day";
    public const string Tomorrow = "test_tomorrow";

    private const int DaysBeforeLastFreeDay = 7;
    private static readonly LocalTime ReminderTime = new(17, 0);
    private static readonly string[] Reminders = [LastFreeDay, Tomorrow];

    public async Task EnteredAsync(TestDay test, Viewer by, CancellationToken cancel)
    {
        if (test.State is TestDayState.Booked)
        {
            var about = await AboutAsync(test, cancel);
            Tell(about, by, Entered, $"Test day: {about.When}", "The day of the practical test is in the diary.", about.Deadline());
            Remind(about);
        }
    }

    public async Task ChangedAsync(TestDay test, Interval from, Guid? formerInstructorId, Viewer by, CancellationToken cancel)
    {
        await outbox.WithdrawAsync(test.Id, Reminders, cancel);
        var about = await AboutAsync(test, cancel);
        Tell(about, by, Changed, $"Test day changed: {about.When}", $"The test day in the diary has changed. Before: {about.School.Moment(from.Start)}.", about.Deadline());
        if (formerInstructorId is { } id && id != test.InstructorId && by.InstructorId != id && await instructors.FindAsync(id, cancel) is { } former)
        {
            Write(
                about, Changed, "former_instructor", former.Name, former.Email, $"Test day left your diary: {about.Pupil.Name}, {about.School.Moment(from.Start)}",
                "This test day no longer takes your time.", [], test.BlockedFrom);
        }

        Remind(about);
    }

    public async Task TakenOffAsync(TestDay test, Viewer by, CancellationToken cancel)
    {
        await outbox.WithdrawAsync(test.Id, Reminders, cancel);
        Tell(
            await AboutAsync(test, cancel), by, TakenOff, "Test day taken off the diary", "This test day is off the diary.",
            ["The official test is not touched by this: only the pupil can change or cancel it."]);
    }

    /// <summary>The test is over: nothing is to be reminded of.</summary>
    public Task OverAsync(TestDay test, CancellationToken cancel) => outbox.WithdrawAsync(test.Id, Reminders, cancel);

    private void Remind(About about)
    {
        var (zone, date, test) = (about.School.Zone, about.Date, about.Test);
        var lastFree = about.LastFreeDay;
        Both(
            LastFreeDay, $"Last day to change the test: {ScreenWords.Day(lastFree.LastFreeDay)}",
            $"A week from now is the last day on which the test can be changed or cancelled with the fee kept, as counted here: {ScreenWords.DayAndYear(lastFree.LastFreeDay)}.",
            about.Deadline(), lastFree.LastFreeDay.PlusDays(-DaysBeforeLastFreeDay), zone.AtStartOfDay(lastFree.LastFreeDay.PlusDays(1)).ToInstant());
        Both(
            Tomorrow, $"Test tomorrow: {about.School.Time(test.StartsAt)}", "The practical test is tomorrow.",
            ["Bring the provisional licence, and glasses or lenses where they are needed."], date.PlusDays(-1), test.StartsAt);

        void Both(string kind, string subject, string opening, IReadOnlyList<string> closing, LocalDate on, Instant uselessAt)
        {
            // An hour that the clock skips is taken as much later; of one that comes twice the first.
            var due = zone.ResolveLocal(on + ReminderTime, Resolvers.LenientResolver).ToInstant();
            if (due <= about.Now)
            {
                return;
            }

            Write(about, kind, "pupil", about.Pupil.Name, about.Pupil.Email, subject, opening, closing, uselessAt, due);
            if (about.Instructor is { } instructor)
            {
                Write(about, kind, "instructor", instructor.Name, instructor.Email, $"{about.Pupil.Name}: {subject}", opening, closing, uselessAt, due);
            }
        }
    }

    private void Tell(About about, Viewer by, string kind, string subject, string opening, IReadOnlyList<string> closing)
    {
        if (by.PupilId != about.Pupil.Id)
        {
            Write(about, kind, "pupil", about.Pupil.Name, about.Pupil.Email, subject, opening, closing, about.Test.StartsAt);
        }

        if (about.Instructor is { } instructor && by.InstructorId != instructor.Id)
        {
            Write(about, kind, "instructor", instructor.Name, instructor.Email, $"{about.Pupil.Name}: {subject}", opening, closing, about.Test.StartsAt);
        }
    }

    private void Write(
        About about, string kind, string to, string name, string address, string subject, string opening, IReadOnlyList<string> closing, Instant uselessAt,
        Instant? dueAt = null)
    {
        if (address.Length == 0)
        {
            return;
        }

        var letter = new Letter(subject, $"Hello {name},", opening, about.Facts(), [.. closing, $"More at {about.Address}."], about.School.Name);
        outbox.Write(new MessageDraft($"{kind}:{about.Test.Id}:{about.Test.Sequence}:{to}", about.Test.Id, kind, name, address, letter.Subject, letter.ToText(), letter.ToHtml())
        {
            DueAt = dueAt,
            UselessAt = uselessAt,
        });
    }

    private async Task<About> AboutAsync(TestDay test, CancellationToken cancel)
    {
        var instructor = test.InstructorId is { } id ? await instructors.FindAsync(id, cancel) : null;
        return new(
            test, (await pupils.CardsAsync([test.PupilId], cancel))[test.PupilId], instructor, await school.GetAsync(cancel),
            await dates.DeadlineAsync(test, cancel), url.Of($"/diary/test-days/{test.Id}"), clock.GetCurrentInstant());
    }

    private sealed record About(
        TestDay Test, PupilCard Pupil, InstructorCard? Instructor, SchoolFacts School, TestDeadline LastFreeDay, string Address, Instant Now)
    {
        public LocalDate Date => Test.StartsAt.InZone(School.Zone).Date;

        public string When => School.Moment(Test.StartsAt);

        public List<(string, string)> Facts()
        {
            List<(string, string)> facts = [("Pupil", Pupil.Name), ("Test", When), ("Centre", Words.Where(Test.Centre))];
            if (Instructor is not null)
            {
                facts.AddRange([("With", Instructor.Name), ("Pick-up", $"{School.Time(Test.BlockedFrom)}, {Test.PickUp.Label}")]);
            }

            return facts;
        }

        public IReadOnlyList<string> Deadline() => LastFreeDay.Over
            ? ["The last day to change or cancel it with the fee kept has passed, as counted here. Check the official page."]
            :
            [
                $"As counted here, {ScreenWords.DayAndYear(LastFreeDay.LastFreeDay)} is the last day to change or cancel it with the fee kept ({LastFreeDay.NoticeDays} full working days). The official letter or e-mail decides; be a day early, by {ScreenWords.Day(LastFreeDay.SaferDay)}.",
                "Only the pupil can change or cancel the official test; the school cannot.",
            ];
    }
}
