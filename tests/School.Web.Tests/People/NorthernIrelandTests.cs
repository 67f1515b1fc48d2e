using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.School;
using School.Web.Modules.School.Contracts;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.People;

/// <summary>A school in Northern Ireland is told what does not follow there, and a car's first MOT does.</summary>
public sealed class NorthernIrelandTests(TestPostgres postgres)
{
    [Fact]
    public async Task What_does_not_follow_there_is_told_where_it_matters_and_nowhere_else()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        (string Page, string Sentence)[] told =
        [
            ("/people/school", NorthernIreland.Places), ("/people/school", NorthernIreland.Follows), ("/places", NorthernIreland.Places),
            ("/diary/test-days", NorthernIreland.Tests), ("/diary/test-days/new", NorthernIreland.Tests), ("/syllabus", NorthernIreland.Learning),
        ];
        foreach (var (page, sentence) in told)
        {
            Assert.DoesNotContain(sentence, await (await pages.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        }

        await MoveToAsync(host);
        foreach (var (page, sentence) in told)
        {
            Assert.Contains(sentence, await (await pages.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        }
    }

    // nidirect.gov.uk: four years in Northern Ireland, where gov.uk/getting-an-mot has three.
    [Fact]
    public async Task A_car_there_needs_its_first_MOT_after_four_years()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Car>().ExecuteUpdateAsync(set => set
            .SetProperty(c => c.FirstRegistered, new NodaTime.LocalDate(2022, 9, 1)).SetProperty(c => c.MotExpires, (NodaTime.LocalDate?)null)));
        Assert.Equal("no_suitable_car", await (await school.Office.BookAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10))).CodeAsync(System.Net.HttpStatusCode.UnprocessableEntity));

        await MoveToAsync(school.Host);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10));
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        var car = await school.Host.WithDbAsync(db => db.Set<Car>().AsNoTracking().SingleAsync());
        var page = await (await pages.GetAsync($"/cars/{car.Id}")).TextAsync();
        Assert.Contains("1 September 2026", page, StringComparison.Ordinal);
        Assert.Contains("MOT from the fourth anniversary of registration", page, StringComparison.Ordinal);
        // And after them it does.
        await school.Host.WithDbAsync(db => db.Set<Car>().ExecuteUpdateAsync(set => set.SetProperty(c => c.FirstRegistered, new NodaTime.LocalDate(2022, 3, 1))));
        Assert.Equal("no_suitable_car", await (await school.Office.BookAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 10))).CodeAsync(System.Net.HttpStatusCode.UnprocessableEntity));
    }

    private static Task<int> MoveToAsync(SchoolHost host) =>
        host.WithDbAsync(db => db.Set<SchoolProfile>().ExecuteUpdateAsync(set => set.SetProperty(s => s.Nation, NorthernIreland.Slug)));
}
