using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using NodaTime;
using School.Core.Diary.Time;
using School.Core.Syllabus;
using School.Core.Syllabus.Mocks;
using School.Tests;
using School.Web.Modules.Diary.Courses;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>Every page of the endpoint table, as everybody who may open it: nothing for axe to find, nothing wider than the screen.</summary>
public sealed class EveryPageTests(TestPostgres postgres, Chromium chromium)
{
    private static readonly Screen Narrow = new(320, 640);
    private static readonly string OneLongWord = string.Concat(Enumerable.Repeat("Wrenfieldham", 9))[..100];
    private static readonly Screen NightDesk = new(1280, 900, Dark: true);

    [Theory]
    [InlineData(nameof(Hat.Pupil))]
    [InlineData(nameof(Hat.BesidePupil))]
    [InlineData(nameof(Hat.Instructor))]
    [InlineData(nameof(Hat.Office))]
    public async Task Every_page_is_accessible_light_and_dark_and_fits_a_narrow_screen(string roleName)
    {
        var role = Enum.Parse<Hat>(roleName);
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var monday = await LarkfieldMonday.SeedAsync(host, others: 2);
        await host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == monday.Idris.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Name, OneLongWord)));
        await host.WithDbAsync(db => db.Set<Instructor>().Where(i => i.Id == monday.Marigold.Id).ExecuteUpdateAsync(set => set.SetProperty(i => i.Name, OneLongWord)));
        var person = role switch
        {
            Hat.Pupil => await host.Data.PersonAsync(monday.Idris),
            Hat.BesidePupil => await host.Data.BesideAsync("Rowan Bell", (monday.Idris.Id, [SeenOfPupil.Lessons, SeenOfPupil.Progress, SeenOfPupil.Money])),
            Hat.Instructor => await host.Data.PersonAsync(monday.Marigold),
            _ => await host.Data.OfficeAsync(),
        };
        var ids = new Dictionary<string, Guid>(await IdsAsync(host, monday)) { ["/people/hats/{id"] = person.Id };
        if (role is not (Hat.Pupil or Hat.BesidePupil))
        {
            ids["/diary/courses/{id"] = await CourseAsync(host, monday, new(person.Id, person.Parts, person.InstructorId, null, person.Name));
        }

        await host.AddAsync(new WaitingEntry { Id = ids["/diary/waiting/{id"], PupilId = monday.Idris.Id, Since = host.Clock.GetCurrentInstant() }
            .Take(new(WaitingFor.AnyLesson, null, new(2026, 3, 2), new(2026, 3, 8))));
        await host.AddAsync(TestOf(monday, ids["/diary/test-days/{id"], host), DriveOf(monday, ids["/syllabus/practice/{id"], host), LearnedBy(monday));
        await host.AddAsync(MockOf(monday, ids["/syllabus/mocks/{id"], host, finished: role is Hat.Pupil));
        var pages = (await SweptRoute.AllAsync(host.Services))
            .Where(route => route.IsPage && route.Method == "GET" && route.Allows(role) && route.Permission is not null)
            .Select(route => Address(route, ids)).Distinct().Order(StringComparer.Ordinal).ToList();
        Assert.True(pages.Count > (role == Hat.BesidePupil ? 4 : 6), $"Only {pages.Count} pages for {role}.");
        await host.KeepMoneyAsync(monday.Idris.Id);
        await using var walk = await Walk.StartAsync(chromium, url, Narrow);
        await walk.SignInAsync(person);
        await using var doubled = await Walk.WithDoubledTextAsync(chromium, url);
        await doubled.SignInAsync(person);
        Assert.Equal("32px", await doubled.Page.EvaluateAsync<string>("(() => { document.body.style.fontSize = 'medium'; return getComputedStyle(document.body).fontSize; })()"));
        var tooWide = new List<string>();
        foreach (var page in pages)
        {
            await walk.LookAgainAsync(Narrow);
            var answer = await walk.Page.GotoAsync(page);
            // An answer that only leads on (a lesson that can no longer be moved) is the next page's business.
            Assert.True(answer!.Status is 200 or 404, $"{page} answered {answer.Status}");
            tooWide.AddRange(await LookAsync(walk));
            await doubled.Page.GotoAsync(page, new() { WaitUntil = WaitUntilState.DOMContentLoaded });
            if (await doubled.TooWideAsync() is { } over)
            {
                tooWide.Add($"doubled: {over}");
            }
        }

        Assert.True(tooWide.Count == 0, string.Join('\n', tooWide));
    }

    [Fact]
    public async Task Pages_for_anybody_are_accessible_light_and_dark_and_fit_a_narrow_screen()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        await using var walk = await Walk.StartAsync(chromium, url, Narrow);
        await using var doubled = await Walk.WithDoubledTextAsync(chromium, url);
        var tooWide = new List<string>();
        foreach (var page in new[] { "/people/sign-in", "/people/forgotten", "/people/reset", "/people/accept", "/people/not-allowed", "/error/404", "/api" })
        {
            await walk.LookAgainAsync(Narrow);
            await walk.Page.GotoAsync(page);
            tooWide.AddRange(await LookAsync(walk));
            await doubled.Page.GotoAsync(page, new() { WaitUntil = WaitUntilState.DOMContentLoaded });
            if (await doubled.TooWideAsync() is { } over)
            {
                tooWide.Add($"doubled: {over}");
            }
        }

        Assert.True(tooWide.Count == 0, string.Join('\n', tooWide));
    }

    [Fact]
    public async Task A_page_with_a_fault_is_found()
    {
        await using var walk = await Walk.StartAsync(chromium, "about:blank", Narrow);
        await walk.Page.SetContentAsync("""<!doctype html><html lang="en"><title>A fault</title><main><h1>A picture without words</h1><img src="data:,"></main></html>""");

        var found = await Assert.ThrowsAnyAsync<Xunit.Sdk.XunitException>(walk.ExpectAccessibleAsync);

        Assert.Contains("image-alt", found.Message);
        Assert.DoesNotContain("html-has-lang", found.Message);
    }

    [Fact]
    public async Task A_form_without_a_token_is_found()
    {
        await using var walk = await Walk.StartAsync(chromium, "about:blank", Narrow);
        await walk.Page.SetContentAsync("""<!doctype html><html lang="en"><title>Forms</title><form method="get"></form><form method="POST" action="/places"></form></html>""");

        var found = await Assert.ThrowsAnyAsync<Xunit.Sdk.XunitException>(walk.ExpectFormsCarryTokensAsync);

        Assert.Contains("1 forms are posted without a token", found.Message, StringComparison.Ordinal);
    }

    /// <summary>What is too wide on a narrow screen or on a desk.</summary>
    private static async Task<IEnumerable<string>> LookAsync(Walk walk)
    {
        await walk.ExpectFormsCarryTokensAsync();
        var narrow = await walk.TooWideAsync();
        await walk.ExpectAccessibleAsync();
        await walk.LookAgainAsync(NightDesk);
        var wide = await walk.TooWideAsync();
        await walk.ExpectAccessibleAsync();
        return new[] { narrow, wide }.OfType<string>();
    }

    private static async Task<Guid> CourseAsync(SchoolHost host, LarkfieldMonday monday, Viewer by)
    {
        await using var scope = host.Services.CreateAsyncScope();
        var from = host.Clock.GetCurrentInstant().InZone(SchoolHost.London).Date.PlusDays(7);
        var planned = await scope.ServiceProvider.GetRequiredService<PlanCourse>().RunAsync(by, new(monday.Idris.Id, monday.Marigold.Id, 480, from, from.PlusDays(6)), CancellationToken.None);
        Assert.True(planned.Ok, planned.Refusal?.Telling.ToStaff);
        return planned.Value.Id;
    }

    private static TestDay TestOf(LarkfieldMonday monday, Guid id, SchoolHost host)
    {
        var start = LarkfieldMonday.At(10, 14) + Duration.FromDays(43);
        return TestDay.Enter(
            monday.Idris.Id,
            new(
                start, Duration.FromMinutes(40), 60, 20, TestData.PlaceAt(5, 5, "Northgate"), Nation.EnglandAndWales, monday.Idris.PickUp, false, "41000007",
                monday.Car.Gearbox, monday.Marigold.Id, monday.Car.Id, false),
            host.Clock.GetCurrentInstant(), id);
    }

    private static LessonRecord LearnedBy(LarkfieldMonday monday) => new()
    {
        LessonId = monday.LastWeek.Id,
        PupilId = monday.Idris.Id,
        Edition = 1,
        Levels = [new() { Skill = "signals", Level = SkillLevel.Prompted }, new() { Skill = "mirrors", Level = SkillLevel.Independent }],
        Aim = "Signal a little earlier.",
        RecordedAt = monday.LastWeek.EndsAt,
        RecordedBy = monday.Marigold.Id,
    };

    private static PrivatePractice DriveOf(LarkfieldMonday monday, Guid id, SchoolHost host) => new()
    {
        Id = id,
        PupilId = monday.Idris.Id,
        On = LarkfieldMonday.Date.PlusDays(-1),
        Minutes = 50,
        Supervisor = "Fern Bell",
        Conditions = [PracticeCondition.Dark],
        Skills = ["signals"],
        Edition = 1,
        LoggedAt = host.Clock.GetCurrentInstant(),
        LoggedBy = "Idris Bell",
    };

    /// <summary>Staff see the page on which one is tapped together, a pupil the finished one.</summary>
    private static MockTest MockOf(LarkfieldMonday monday, Guid id, SchoolHost host, bool finished) => new()
    {
        Id = id,
        PupilId = monday.Idris.Id,
        On = host.Clock.GetCurrentInstant().InZone(SchoolHost.London).Date,
        Faults =
        [
            new() { Number = 1, Heading = "21-observation", Kind = FaultKind.Serious, Note = "The mini-roundabout." },
            new() { Number = 2, Heading = "12-steering", Kind = FaultKind.Driving },
        ],
        StartedAt = host.Clock.GetCurrentInstant(),
        RecordedBy = monday.Marigold.Id,
        RecordedByName = monday.Marigold.Name,
        FinishedAt = finished ? host.Clock.GetCurrentInstant() : null,
    };

    private static string Address(SweptRoute route, IReadOnlyDictionary<string, Guid> ids) =>
        ids.Where(id => route.Template.StartsWith(id.Key, StringComparison.Ordinal)).Select(id => route.Url(id.Value)).FirstOrDefault() ?? route.Url();

    /// <summary>A row of each kind for the pages that show one.</summary>
    private static async Task<IReadOnlyDictionary<string, Guid>> IdsAsync(SchoolHost host, LarkfieldMonday monday) => new Dictionary<string, Guid>
    {
        ["/diary/lessons/{id"] = monday.Tight.Id,
        ["/syllabus/lessons/{id"] = monday.OnNow.Id,
        ["/diary/test-days/{id"] = Web.Platform.Database.RowId.New(),
        ["/diary/waiting/{id"] = Web.Platform.Database.RowId.New(),
        ["/syllabus/mocks/{id"] = Web.Platform.Database.RowId.New(),
        ["/cars/{id"] = monday.Car.Id,
        ["/pupils/{id"] = monday.Idris.Id,
        ["/syllabus/progress/{pupilId"] = monday.Idris.Id,
        ["/syllabus/practice/{id"] = Web.Platform.Database.RowId.New(),
        ["/syllabus/readiness/{id"] = monday.Idris.Id,
        ["/diary/beside/{id"] = monday.Idris.Id,
        ["/syllabus/beside/{id"] = monday.Idris.Id,
        ["/accounts/beside/{id"] = monday.Idris.Id,
        ["/accounts/{id"] = monday.Idris.Id,
        ["/people/instructors/{id"] = monday.Marigold.Id,
        ["/diary/hours-span"] = await host.WithDbAsync(db => db.Set<Web.Modules.Diary.Hours.WorkingHoursRow>().Where(h => h.InstructorId == monday.Marigold.Id).Select(h => h.Id).FirstAsync()),
    };
}
