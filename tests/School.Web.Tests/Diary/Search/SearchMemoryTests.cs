using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using Npgsql;
using School.Core.Diary.Slots;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Search;

/// <summary>What a node remembers of diaries is never older than the last read.</summary>
public sealed class SearchMemoryTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_lesson_booked_moved_or_cancelled_elsewhere_is_seen_at_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await using var elsewhere = school.Host.SecondNode();
        var other = await school.Host.Data.PupilAsync("Corin Vale");
        using var office = await elsewhere.ApiAsAsync(await school.Host.Data.OfficeAsync("Sorrel Finch"));
        var (ten, three) = (London(2026, 3, 5, 10), London(2026, 3, 5, 15));
        Assert.Contains(ten, await StartsAsync(school));
        Assert.Contains(three, await StartsAsync(school));

        var lesson = await office.BookedAsync(other.Id, school.InstructorId, ten);
        Assert.DoesNotContain(ten, await StartsAsync(school));

        await (await office.MoveAsync(lesson.Id(), three)).JsonAsync();
        Assert.Contains(ten, await StartsAsync(school));
        Assert.DoesNotContain(three, await StartsAsync(school));

        await (await office.CancelAsync(lesson.Id())).JsonAsync();
        Assert.Contains(three, await StartsAsync(school));
    }

    [Fact]
    public async Task A_test_day_entered_moved_or_taken_off_is_seen_at_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var tested = await school.Host.Data.PupilAsync("Corin Vale");
        var ten = London(2026, 3, 5, 10);
        Assert.Contains(ten, await StartsAsync(school));
        var test = (await school.Office.EnteredAsync(tested.Id, ten, ("instructorId", school.InstructorId), ("ownCar", true))).Id();
        Assert.DoesNotContain(ten, await StartsAsync(school));
        await (await school.Office.ChangeAsync(test, tested.Id, ten + Duration.FromDays(1), ("instructorId", school.InstructorId), ("ownCar", true))).JsonAsync();
        Assert.Contains(ten, await StartsAsync(school));
        await (await school.Office.ChangeAsync(test, tested.Id, ten, ("instructorId", school.InstructorId), ("ownCar", true))).JsonAsync();
        Assert.DoesNotContain(ten, await StartsAsync(school));
        await school.Office.SendJsonAsync(HttpMethod.Delete, $"{TestDayApi.Path}/{test}");
        Assert.Contains(ten, await StartsAsync(school));
    }

    [Fact]
    public async Task What_another_connection_writes_is_seen_at_once_when_it_commits_and_not_before()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10))).Id();
        Assert.DoesNotContain(London(2026, 3, 5, 10), await StartsAsync(school));
        await using var connection = new NpgsqlConnection(school.Host.ConnectionString);
        await connection.OpenAsync();
        await using var transaction = await connection.BeginTransactionAsync();
        await using var move = new NpgsqlCommand(
            "UPDATE diary.lessons SET starts_at = starts_at + interval '4 hours', ends_at = ends_at + interval '4 hours' WHERE id = $1", connection, transaction)
        {
            Parameters = { new() { Value = lesson } },
        };
        Assert.Equal(1, await move.ExecuteNonQueryAsync());

        Assert.DoesNotContain(London(2026, 3, 5, 10), await StartsAsync(school));
        await transaction.CommitAsync();
        Assert.Contains(London(2026, 3, 5, 10), await StartsAsync(school));
        Assert.DoesNotContain(London(2026, 3, 5, 14), await StartsAsync(school));
    }

    [Fact]
    public async Task What_is_undone_was_never_remembered()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.PupilAsync("Corin Vale");
        var ten = London(2026, 3, 5, 10);
        await using (var scope = school.Host.Services.CreateAsyncScope())
        {
            var db = scope.ServiceProvider.GetRequiredService<SchoolDb>();
            await using var transaction = await db.Database.BeginTransactionAsync();
            var car = await db.Set<Car>().Select(c => c.Id).SingleAsync();
            db.Add(Lesson.Book(other.Id, school.InstructorId, car, new Interval(ten, ten + Duration.FromHours(1)), TestData.PlaceAt(), TestData.PlaceAt(), ten));
            await db.SaveChangesAsync();
            Assert.DoesNotContain(ten, (await FindAsync(scope, school)).Offers.Select(o => o.Start));
            await transaction.RollbackAsync();
        }

        Assert.Contains(ten, await StartsAsync(school));
    }

    [Fact]
    public async Task Whatever_happens_the_remembered_answer_is_that_of_a_fresh_look()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await using var elsewhere = school.Host.SecondNode();
        var instructors = new List<Guid> { school.InstructorId, (await school.Host.Data.InstructorAsync("Basil Thornby")).Id };
        var car = await school.Host.WithDbAsync(db => db.Set<Car>().OrderBy(c => c.Label).FirstAsync());
        var others = new List<Guid>();
        for (var i = 0; i < 4; i++)
        {
            others.Add((await school.Host.Data.PupilAsync($"Corin Vale {i}", TestData.PlaceAt(i * 5, i * 3))).Id);
        }

        using var office = await elsewhere.ApiAsAsync(await school.Host.Data.OfficeAsync("Sorrel Finch"));
        var random = new Random(20260305);
        var booked = new List<Guid>();
        var (changes, offered) = (0, 0);
        for (var step = 0; step < 60; step++)
        {
            var start = London(2026, 3, 28 + random.Next(3), 8) + Duration.FromMinutes(15 * random.Next(36)); // across the change of the clocks
            var instructor = instructors[random.Next(2)];
            switch (random.Next(10))
            {
                case < 6:
                    var answer = await office.BookAsync(others[random.Next(others.Count)], instructor, start);
                    if (answer.IsSuccessStatusCode)
                    {
                        booked.Add((await answer.JsonAsync(System.Net.HttpStatusCode.Created)).Id());
                        changes++;
                    }

                    break;
                case 6 when booked.Count > 0:
                    await office.CancelAsync(booked[random.Next(booked.Count)]);
                    changes++;
                    break;
                case 7:
                    await school.Host.WithDbAsync(db => db.Set<TimeOffRow>().ExecuteDeleteAsync());
                    await school.Host.AddAsync(new TimeOffRow { InstructorId = instructor, StartsAt = start, EndsAt = start + Duration.FromMinutes(90), Reason = "dentist" });
                    changes++;
                    break;
                case 8:
                    await school.Host.WithDbAsync(db => db.Set<OffRoadPeriod>().ExecuteDeleteAsync());
                    await school.Host.AddAsync(new OffRoadPeriod { CarId = car.Id, StartsAt = start, EndsAt = start + Duration.FromHours(5), Reason = "garage" });
                    changes++;
                    break;
                default:
                    await school.Host.WithDbAsync(db => db.Set<DiarySettings>().ExecuteUpdateAsync(set => set.SetProperty(s => s.Rules.BufferMinutes, random.Next(20))));
                    changes++;
                    break;
            }

            await using var scope = school.Host.Services.CreateAsyncScope();
            var remembered = await FindAsync(scope, school);
            var fresh = await FreshAsync(scope, school);
            Assert.Equal(fresh.Offers, remembered.Offers);
            Assert.Equal(fresh.Found, remembered.Found);
            offered += fresh.Found;
        }

        Assert.True(changes > 30 && offered > 1000, $"{changes} changes, {offered} offers");
    }

    private static readonly (LocalDate From, LocalDate To) Days = (new(2026, 3, 27), new(2026, 3, 31));

    private static async Task<List<Instant>> StartsAsync(SmallSchool school) =>
        [.. (await school.Office.GetJsonAsync($"/api/v1/slots?pupilId={school.PupilId}&from=2026-03-05&to=2026-03-05"))
            .GetProperty("items").EnumerateArray().Select(s => s.Moment("start"))];

    private static async Task<SlotAnswer> FindAsync(AsyncServiceScope scope, SmallSchool school)
    {
        var finder = scope.ServiceProvider.GetRequiredService<SlotFinder>();
        var undone = scope.ServiceProvider.GetRequiredService<SchoolDb>().Database.CurrentTransaction is not null;
        var (from, to) = undone ? (new LocalDate(2026, 3, 5), new LocalDate(2026, 3, 5)) : Days;
        return (await finder.FindAsync(new(school.PupilId, from, to), Viewer.Service, CancellationToken.None)).Value!;
    }

    /// <summary>The same search straight from the tables.</summary>
    private static async Task<SlotSearchResult> FreshAsync(AsyncServiceScope scope, SmallSchool school)
    {
        var pictures = scope.ServiceProvider.GetRequiredService<PictureLoader>();
        var pupil = (await scope.ServiceProvider.GetRequiredService<PupilBook>().FindAsync(school.PupilId, Viewer.Service, CancellationToken.None))!;
        var loaded = await pictures.LoadAsync(Days.From, Days.To, null, CancellationToken.None);
        var facts = (await pictures.PupilsAsync([pupil], Days.From, Days.To, CancellationToken.None))[pupil.Id];
        var wish = new LessonWish(facts, pupil.LessonMinutes, pupil.PickUp.At(), pupil.PickUp.At(), Days.From, Days.To, null, NoticeApplies: false, AnyStart: true);
        return SlotSearch.Find(loaded.Picture, wish, loaded.Travel, SlotFinder.MostOffers);
    }
}
