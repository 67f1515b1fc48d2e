using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.School.Contracts;

namespace School.Web.Tests.Host;

/// <summary>Monday 2 March 2026 at the invented Larkfield school, 10:45: one lesson taught, one on, one tight, a long gap, one more.</summary>
internal sealed class LarkfieldMonday
{
    public static readonly LocalDate Date = new(2026, 3, 2);

    public required Instructor Marigold { get; init; }

    public required Pupil Idris { get; init; }

    /// <summary>Idris's, taught a week ago.</summary>
    public required Lesson LastWeek { get; init; }

    public required Lesson OnNow { get; init; }

    public required Lesson Tight { get; init; }

    public required Car Car { get; init; }

    public static async Task<LarkfieldMonday> SeedAsync(SchoolHost host, int others = 0)
    {
        host.Clock.Reset(At(10, 45));
        var marigold = await host.Data.InstructorAsync("Marigold Ashby", Place("Larkfield Green", "1 Larkfield Green", 0, 0));
        var car = await host.WithDbAsync(db => db.Set<Car>().AsNoTracking().SingleAsync());
        var mill = Place("Mill Lane", "12 Mill Lane", 14, 4);
        var quarry = Place("Quarry Rise", "3 Quarry Rise", 18, 18);
        var harbour = Place("Harbour Street", "41 Harbour Street", 34, 38);
        var fernhill = Place("Fernhill School", "Fernhill School, gate B", 10, 24);
        var tamsin = await PupilAsync(host, "Tamsin Oakley", mill, "turning left, emerging.", checkedEyes: true);
        var idris = await PupilAsync(host, "Idris Bell", quarry, "roundabouts, from Prompted on. Reads slowly: diagrams help.", checkedEyes: true);
        var wren = await PupilAsync(host, "Wren Castellan", harbour, "", checkedEyes: false);
        var marlo = await PupilAsync(host, "Marlo Fenn", fernhill, "mock test.", checkedEyes: true);

        var before = Book(idris, marigold, car, Date.PlusDays(-7).At(new(9, 0)), 60, quarry, quarry);
        before.Record(60, "Good mirrors. Signal a little earlier.", host.Clock.GetCurrentInstant());
        var done = Book(tamsin, marigold, car, Date.At(new(8, 30)), 90, mill, Place("Larkfield College", "Larkfield College", 17, 14));
        done.Record(90, "Left turns are steady now.", host.Clock.GetCurrentInstant());
        var now = Book(idris, marigold, car, Date.At(new(10, 15)), 75, quarry, quarry);
        var tight = Book(wren, marigold, car, Date.At(new(11, 45)), 60, harbour, harbour);
        var last = Book(marlo, marigold, car, Date.At(new(15, 45)), 90, fernhill, Place("Cobden Row", "7 Cobden Row", 4, 8));
        await host.AddAsync(before, done, now, tight, last);
        for (var i = 0; i < others; i++)
        {
            await ColleagueAsync(host, i);
        }

        return new() { Marigold = marigold, Idris = idris, LastWeek = before, OnNow = now, Tight = tight, Car = car };
    }

    public static Instant At(int hour, int minute) => Date.At(new(hour, minute)).InZoneStrictly(SchoolHost.London).ToInstant();

    private static async Task ColleagueAsync(SchoolHost host, int i)
    {
        var names = new[] { "Alder Quince", "Bryony Tallis", "Corin Vale", "Delphine Roe" };
        var instructor = await host.Data.InstructorAsync(names[i], Place("North Common", "8 North Common", 5 + i, 5));
        var car = await host.WithDbAsync(db => db.Set<Car>().AsNoTracking().OrderByDescending(c => c.Id).FirstAsync());
        var first = await PupilAsync(host, $"Juniper Hale {i + 1}", Place("Bridge End", "2 Bridge End", 6 + i, 6), "bay parking.", checkedEyes: true);
        var second = await PupilAsync(host, $"Rowan Pell {i + 1}", Place("Kiln Road", "19 Kiln Road", 8, 2 + i), "hill starts.", checkedEyes: true);
        var missed = Book(first, instructor, car, Date.At(new(9, 0)), 60, first.PickUp, first.PickUp);
        var now = host.Clock.GetCurrentInstant();
        missed.Miss("", LessonCharge.Decide(ChargeAct.Missed, ChargeCause.Pupil, missed.StartsAt, now, new(48)), now);
        var ahead = Book(second, instructor, car, Date.At(new(13, 0)), 120, second.PickUp, second.PickUp);
        await host.AddAsync(missed, ahead);
        if (i == 1)
        {
            await host.AddAsync(new TimeOffRow { InstructorId = instructor.Id, StartsAt = At(15, 30), EndsAt = At(18, 0), Reason = "dentist" });
        }
    }

    private static Lesson Book(Pupil pupil, Instructor instructor, Car car, LocalDateTime start, int minutes, Place from, Place to)
    {
        var begins = start.InZoneStrictly(SchoolHost.London).ToInstant();
        return Lesson.Book(pupil.Id, instructor.Id, car.Id, new(begins, begins + Duration.FromMinutes(minutes)), from, to, begins - Duration.FromDays(9));
    }

    private static async Task<Pupil> PupilAsync(SchoolHost host, string name, Place at, string need, bool checkedEyes)
    {
        var pupil = await host.Data.PupilAsync(name, at);
        await host.WithDbAsync(async db =>
        {
            var row = await db.Set<Pupil>().SingleAsync(p => p.Id == pupil.Id);
            row.Need = need;
            row.EyesightCheckedOn = checkedEyes ? Date.PlusDays(-20) : null;
            return await db.SaveChangesAsync();
        });
        return pupil;
    }

    private static Place Place(string label, string address, double north, double east) =>
        TestData.PlaceAt(north, east, label) with { Address = $"{address}, Larkfield" };
}
