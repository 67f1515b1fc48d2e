using Microsoft.AspNetCore.Identity;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Syllabus.Mocks;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.People;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Tests.Host;

/// <summary>Invented people and cars of Larkfield, put straight into the database where a test is about something else.</summary>
internal sealed class TestData(SchoolHost host)
{
    private static readonly LocalDate LongAgo = new(2020, 1, 1);
    private int _count;

    /// <summary>A place north of the invented town's middle; a tenth of a mile or so apart for every step.</summary>
    public static Place PlaceAt(double stepsNorth = 0, double stepsEast = 0, string label = "Mill Lane") => new()
    {
        Label = label,
        Address = $"12 {label}, Larkfield",
        Postcode = "",
        Latitude = 52.4 + (stepsNorth * 0.0015),
        Longitude = -1.2 + (stepsEast * 0.0025),
    };

    /// <summary>An approved instructor who teaches both gearboxes, 08:00 to 18:00 every day, with a car of each gearbox asked for.</summary>
    public async Task<Instructor> InstructorAsync(string name = "Marigold Ashby", Place? at = null, params Gearbox[] cars)
    {
        var n = ++_count;
        var instructor = new Instructor
        {
            Name = name,
            Email = $"instructor{n}@larkfield.example",
            Phone = "+441632960001",
            Teaches = [Gearbox.Manual, Gearbox.Automatic],
            Registration = RegistrationKind.Approved,
            RegistrationNumber = $"{100000 + n}",
            RegisteredTo = new LocalDate(2029, 12, 31),
            Base = at ?? PlaceAt(),
        };
        await host.AddAsync(instructor);
        foreach (var day in Enum.GetValues<IsoDayOfWeek>().Where(d => d != IsoDayOfWeek.None))
        {
            await host.AddAsync(new WorkingHoursRow { InstructorId = instructor.Id, Day = day, Start = new(8, 0), End = new(18, 0), From = LongAgo });
        }

        foreach (var gearbox in cars.Length == 0 ? [Gearbox.Manual] : cars)
        {
            await CarAsync(instructor.Id, gearbox);
        }

        return instructor;
    }

    public async Task<Car> CarAsync(Guid? holder = null, Gearbox gearbox = Gearbox.Manual)
    {
        var n = ++_count;
        var car = new Car
        {
            Label = $"silver hatch {n}",
            Plate = $"LK{n:00} FLD",
            Gearbox = gearbox,
            DualControls = true,
            FirstRegistered = new(2024, 3, 1),
            MotExpires = new(2029, 3, 1),
            TaxExpires = new(2029, 3, 1),
            InsuranceExpires = new(2029, 3, 1),
            ServiceDue = new(2029, 3, 1),
        };
        if (holder is { } instructor)
        {
            car.Holdings.Add(new Holding { CarId = car.Id, InstructorId = instructor, From = LongAgo });
        }

        await host.AddAsync(car);
        return car;
    }

    public async Task<Pupil> PupilAsync(string name = "Tamsin Oakley", Place? at = null, Guid? instructor = null, Gearbox gearbox = Gearbox.Manual)
    {
        var n = ++_count;
        var pupil = new Pupil
        {
            Name = name,
            Email = $"pupil{n}@larkfield.example",
            Phone = "+441632960002",
            BirthDate = new(2007, 5, 4),
            Gearbox = gearbox,
            LicenceFrom = new(2024, 5, 4),
            TheoryPassedOn = new(2025, 6, 1),
            PickUp = at ?? PlaceAt(),
            UsualInstructorId = instructor,
            LessonMinutes = 60,
        };
        await host.AddAsync(pupil);
        return pupil;
    }

    /// <summary>A finished mock test, driven today, with these faults.</summary>
    public async Task<MockTest> MockTestAsync(Guid pupil, params (string Heading, FaultKind Kind)[] faults)
    {
        var now = host.Clock.GetCurrentInstant();
        var mock = new MockTest
        {
            PupilId = pupil,
            On = now.InZone(SchoolHost.London).Date,
            Faults = [.. faults.Select((fault, n) => new NotedFault { Number = n + 1, Heading = fault.Heading, Kind = fault.Kind })],
            StartedAt = now,
            RecordedBy = Guid.Empty,
            RecordedByName = "Marigold Ashby",
            FinishedAt = now,
        };
        await host.AddAsync(mock);
        return mock;
    }

    public Task<Person> OfficeAsync(string name = "Rosalind Pike") => WearerAsync(name, $"office{++_count}@larkfield.example", OfficeParts.All);

    public Task<Person> PersonAsync(Instructor instructor) => WearerAsync(instructor.Name, instructor.Email, instructor: instructor.Id);

    public Task<Person> PersonAsync(Pupil pupil) => WearerAsync(pupil.Name, pupil.Email, pupil: pupil.Id);

    /// <summary>Somebody beside pupils, and what each of them lets them see.</summary>
    public async Task<Contact> ContactAsync(string name, params (Guid Pupil, SeenOfPupil[] Sees)[] beside)
    {
        var contact = new Contact { Name = name, Email = $"beside{++_count}@larkfield.example", Phone = "", Kind = ContactKind.Parent };
        await host.AddAsync(contact);
        foreach (var (pupil, sees) in beside)
        {
            await host.AddAsync(new BesidePupil { PupilId = pupil, ContactId = contact.Id, Relation = "mother", Sees = [.. sees] });
        }

        return contact;
    }

    /// <summary>The same, who signs in.</summary>
    public async Task<Person> BesideAsync(string name, params (Guid Pupil, SeenOfPupil[] Sees)[] beside)
    {
        var contact = await ContactAsync(name, beside);
        return await WearerAsync(contact.Name, contact.Email, contact: contact.Id);
    }

    /// <summary>Somebody who signs in with these hats; their name to sign in with is their address unless it is said.</summary>
    public async Task<Person> WearerAsync(string name, string email, OfficeParts parts = OfficeParts.None, Guid? instructor = null, Guid? pupil = null, string? signInName = null, Guid? contact = null)
    {
        await using var scope = host.Services.CreateAsyncScope();
        var people = scope.ServiceProvider.GetRequiredService<UserManager<Person>>();
        var person = new Person
        {
            Id = RowId.New(),
            Name = name,
            UserName = signInName ?? email,
            Email = email,
            EmailConfirmed = true,
            Parts = parts,
            InstructorId = instructor,
            PupilId = pupil,
            ContactId = contact,
        };
        var made = await people.CreateAsync(person, SchoolHost.Password);
        Assert.True(made.Succeeded, string.Join(' ', made.Errors.Select(e => e.Description)));
        return person;
    }
}
