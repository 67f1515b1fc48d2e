using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Waiting;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Waiting;

public sealed class WaitingPartsTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_long_list_is_shown_in_parts()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var since = school.Host.Clock.GetCurrentInstant();
        for (var n = 0; n < 51; n++)
        {
            var pupil = await school.Host.Data.PupilAsync($"Pupil {n:00}");
            await school.Host.AddAsync(new WaitingEntry { PupilId = pupil.Id, Since = since + Duration.FromMinutes(n) }.Take(new(WaitingFor.EarlierLesson, null, null, null)));
        }

        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Second Office"));
        var first = await office.GetStringAsync("/diary/waiting");
        var second = await office.GetStringAsync("/diary/waiting?part=2");
        Assert.True(first.Contains(">Pupil 49</a>", StringComparison.Ordinal) && first.Contains("/diary/waiting?part=2", StringComparison.Ordinal));
        Assert.DoesNotContain(">Pupil 50</a>", first, StringComparison.Ordinal);
        Assert.True(second.Contains(">Pupil 50</a>", StringComparison.Ordinal) && second.Contains("/diary/waiting?part=1", StringComparison.Ordinal));
        Assert.DoesNotContain(">Pupil 49</a>", second, StringComparison.Ordinal);
    }
}
