using System.Net;
using NodaTime;
using School.Tests;
using School.Web.Modules.Messages.Contracts;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Messages;

/// <summary>Copies of a pupil's letters for somebody beside them: nothing of money, and nothing to open. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class CopiesTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task The_copies_of_one_lessons_letters_tell_its_time_and_neither_money_nor_what_cannot_be_opened()
    {
        await using var school = await WithTermsAsync();
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 12, 10));
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 2, 15))).Id();
        await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{lesson}/kind", new { kind = "standard", minutes = 90, asked = true })).JsonAsync();
        await (await school.Office.MoveAsync(lesson, London(2026, 3, 2, 16))).JsonAsync();
        await (await school.Pupil.CancelAsync(lesson)).JsonAsync();
        await AllAreBareAsync(school, "lesson_booked", "lesson_became", "lesson_moved", "lesson_cancelled", "lesson_reminder");
    }

    [Fact]
    public async Task The_copies_of_several_lessons_letters_do_not_say_which_is_charged()
    {
        await using var school = await WithTermsAsync();
        async Task<List<Guid>> WeeklyAsync(Instant start)
        {
            var weekly = new { pupilId = school.PupilId, instructorId = school.InstructorId, starts = new[] { Text(start), Text(start + Duration.FromDays(7)) }, minutes = 60 };
            var made = await (await school.Pupil.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly-lessons", weekly)).JsonAsync(HttpStatusCode.Created);
            return [.. made.GetProperty("items").EnumerateArray().Select(lesson => lesson.Id())];
        }

        var ids = await WeeklyAsync(Thursday10);
        await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{ids[0]}/following/move", new { start = Text(Thursday10 + Duration.FromHours(1)) })).JsonAsync();
        var unlike = await WeeklyAsync(London(2026, 3, 6, 10));
        await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{unlike[1]}/kind", new { kind = "refresher", minutes = 60 })).JsonAsync();
        await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{unlike[0]}/following/move", new { start = Text(London(2026, 3, 6, 13)) })).JsonAsync();
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(3));
        await (await school.Pupil.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{ids[0]}/following/cancel", new { reason = "pupil" })).JsonAsync();
        var pupils = Assert.Single(await school.Host.SaidAsync(all => all.Where(m => m.Kind == "weekly_cancelled" && m.Receiver == ReceiverKind.Pupil)));
        Assert.Contains("not charged", pupils.Text, StringComparison.Ordinal);
        await AllAreBareAsync(school, "lesson_became", "lesson_reminder", "weekly_booked", "weekly_moved", "weekly_cancelled", "lessons_changed");
    }

    /// <summary>Every kind was copied, and no copy has a word of what its reader neither may see nor can open.</summary>
    private static async Task AllAreBareAsync(SmallSchool school, params string[] kinds)
    {
        var copies = await school.Host.SaidAsync(all => all.Where(m => m.Receiver == ReceiverKind.Contact).OrderBy(m => m.Id));
        Assert.Equal(kinds.Order(), copies.Select(copy => copy.Kind).Distinct().Order());
        Assert.All(copies, copy =>
        {
            Assert.Contains("March", copy.Text, StringComparison.Ordinal);
            Assert.DoesNotMatch("(?i)charge|free of|£|below[^ ]|open |https?://", copy.Text.Replace("“You” below is", "", StringComparison.Ordinal));
        });
    }

    private async Task<SmallSchool> WithTermsAsync()
    {
        var school = await SmallSchool.StartAsync(postgres);
        var bram = (await (await school.Office.SendJsonAsync(
            HttpMethod.Post, "/api/v1/contacts", new { name = "Bram Oakley", email = "bram.oakley@larkfield.example", kind = "parent" })).JsonAsync(HttpStatusCode.Created)).Id();
        using var put = await school.Office.SendJsonAsync(HttpMethod.Put, $"/api/v1/pupils/{school.PupilId}/contacts/{bram}", new { sees = new[] { "lessons" }, getsLetters = true });
        Assert.Equal(HttpStatusCode.Created, put.StatusCode);
        return school;
    }
}
