using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.People;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places;
using School.Web.Modules.Records;
using School.Web.Platform.Access;

namespace School.Web.Demo.Scale;

/// <summary>An instructor with what the lessons need of them.</summary>
internal sealed record ScaleTeacher(Instructor Row, InstructorCard Card, Viewer Viewer, Guid CarId, Gearbox Gearbox);

/// <summary>The office, the instructors of all years, their cars, hours and times off.</summary>
internal sealed class ScaleStaff
{
    private const int FirstOwner = int.MaxValue - 100_000;
    private const int SpareCars = 2;
    private const int AwayAtShortNotice = 1;

    /// <summary>Who is a trainee under option 1, whose licence was applied for again and goes on until that is decided.</summary>
    private const int Trainee = 2;

    /// <summary>Months that a trainee's licence lasts: gov.uk, “Trainee driving instructor licence: the rules”.</summary>
    private const int TraineeMonths = 6;

    private readonly ScaleCalendar _calendar;
    private readonly ScaleRows _rows = new();
    private readonly IReadOnlyList<Area> _areas;

    public ScaleStaff(ScaleSize size, ScaleCourses courses, ScaleCalendar calendar)
    {
        _calendar = calendar;
        var begin = calendar.At(calendar.Start.PlusWeeks(-2), 9);
        var ids = new ScaleIds(FirstOwner - 1);
        var office = ScalePeople.Add(_rows, ids, begin, "Rosalind Pike", "office@larkfield.example", OfficeParts.All);
        _areas = ScalePlaces.Add(_rows, ids, begin);
        Office = new(office.Id, OfficeParts.All, null, null, office.Name);
        Teachers = [.. Enumerable.Range(0, courses.InstructorsEver).Select(n => Add(n, begin, courses.LastDayOf(n), size))];
        for (var n = 0; n < SpareCars; n++)
        {
            AddCar(ids, courses.InstructorsEver + n, begin, n == 0 ? Gearbox.Automatic : Gearbox.Manual, null);
        }
    }

    public Viewer Office { get; }

    public IReadOnlyList<ScaleTeacher> Teachers { get; }

    public ScaleRows Rows => _rows;

    /// <summary>Who sits in on the trainee's lessons.</summary>
    public ScaleTeacher Sponsor => Teachers[0];

    private LocalDate TraineeFrom => _calendar.Today.PlusMonths(1 - TraineeMonths);

    /// <summary>Whether somebody sits in on the first lesson of a date: each fourth of the trainee's.</summary>
    public bool IsSupervised(ScaleTeacher teacher, LocalDate date) =>
        teacher.Row.Registration == RegistrationKind.Trainee && date >= TraineeFrom && date.DayOfYear % 4 == 0;

    private ScaleTeacher Add(int n, Instant begin, LocalDate? last, ScaleSize size)
    {
        var ids = new ScaleIds(FirstOwner + n);
        var automatic = n % 4 == 3;
        var trainee = n == Trainee && last is null;
        var suffix = n == 0 ? "" : $"{n}";
        var row = _rows.Add(new Instructor
        {
            Id = ids.Next(begin),
            Name = n < Larkfield.Instructors.Count ? Larkfield.Instructors[n].Name : Larkfield.NameOf(1000 + (n * 37)),
            Email = $"instructor{suffix}@larkfield.example",
            Phone = $"+44163296{n:0000}",
            Teaches = automatic ? [Gearbox.Manual, Gearbox.Automatic] : [Gearbox.Manual],
            Registration = trainee ? RegistrationKind.Trainee : RegistrationKind.Approved,
            RegisteredFrom = trainee ? TraineeFrom : null,
            TraineeOption = trainee ? TraineeOption.Supervision : null,
            AppliedAgainOn = trainee ? _calendar.Today.PlusDays(-3) : null,
            RegistrationNumber = $"{310_000 + (n * 1931)}",
            RegisteredTo = trainee ? TraineeFrom.PlusMonths(TraineeMonths).PlusDays(-1) : _calendar.Today.PlusMonths(4 + (n % 40)),
            Serves = ServedBy(n),
            Base = Larkfield.PlaceOf(n * 7),
            RetiredOn = last,
        });
        var gearbox = automatic ? Gearbox.Automatic : Gearbox.Manual;
        var teacher = new ScaleTeacher(row, InstructorBook.Card(row), new(row.Id, OfficeParts.None, row.Id, null, row.Name), AddCar(ids, n, begin, gearbox, last), gearbox);
        Note(ids, begin, "instructor.add", row.Id, $"Added {row.Name}.");
        _rows.Add(new Holding { Id = ids.Next(begin), CarId = teacher.CarId, InstructorId = row.Id, From = _calendar.Start, To = last });
        ScalePeople.Add(_rows, ids, begin, row.Name, row.Email, instructorId: row.Id, closed: last is not null);
        AddHours(ids, row, begin, last, n);
        AddTimesOff(ids, row, n, last ?? _calendar.LastDay);
        if (last is { } gone)
        {
            Note(ids, _calendar.At(gone, 18), "instructor.retire", row.Id, $"Let {row.Name} leave.");
        }

        return teacher;
    }

    /// <summary>Each third comes everywhere.</summary>
    private List<Guid> ServedBy(int n) => [.. _areas.Where((_, at) => n % 3 == 0 ? at < 2 : n % 3 == 1 && at >= 2).Select(area => area.Id)];

    private Guid AddCar(ScaleIds ids, int n, Instant begin, Gearbox gearbox, LocalDate? retired)
    {
        string[] colours = ["silver", "blue", "white", "green", "red", "grey"];
        var car = _rows.Add(new Car
        {
            Id = ids.Next(begin),
            Label = $"{colours[n % colours.Length]} hatch {n + 1}",
            Plate = $"LK{16 + (n % 9)} L{(char)('A' + (n / 26))}{(char)('A' + (n % 26))}",
            Gearbox = gearbox,
            DualControls = true,
            FirstRegistered = _calendar.Start.PlusDays(-90 - n),
            MotExpires = _calendar.Today.PlusDays(120 + (n * 3)),
            TaxExpires = _calendar.Today.PlusDays(130 + (n * 3)),
            InsuranceExpires = _calendar.Today.PlusDays(220),
            ServiceDue = _calendar.Today.PlusDays(140 + (n * 3)),
            RetiredOn = retired,
        });
        Note(ids, begin, "car.add", car.Id, $"Added the {car.Label} ({car.Plate}).");
        return car.Id;
    }

    /// <summary>Long days while the school was made up of the past, ordinary ones since.</summary>
    private void AddHours(ScaleIds ids, Instructor row, Instant begin, LocalDate? last, int n)
    {
        for (var day = IsoDayOfWeek.Monday; day <= IsoDayOfWeek.Saturday; day++)
        {
            _rows.Add(new WorkingHoursRow
            {
                Id = ids.Next(begin),
                InstructorId = row.Id,
                Day = day,
                Start = new(7, 30),
                End = new(20, 30),
                From = _calendar.Start,
                To = last ?? _calendar.Present.PlusDays(-1),
            });
            if (last is null && (day < IsoDayOfWeek.Saturday || n % 3 == 0))
            {
                var (start, end) = day < IsoDayOfWeek.Saturday ? (new LocalTime(8, 30), new LocalTime(18, 30)) : (new LocalTime(9, 0), new LocalTime(14, 0));
                _rows.Add(new WorkingHoursRow
                {
                    Id = ids.Next(_calendar.At(_calendar.Present, 7)),
                    InstructorId = row.Id,
                    Day = day,
                    Start = start,
                    End = end,
                    From = _calendar.Present,
                });
            }
        }

        Note(ids, begin, "instructor.hours.add", row.Id, $"Added working hours of {row.Name}.");
    }

    private void AddTimesOff(ScaleIds ids, Instructor row, int n, LocalDate until)
    {
        foreach (var (from, to) in _calendar.Away(n).Where(away => away.From >= _calendar.Start && away.To <= until))
        {
            AddTimeOff(ids, row, from, to, "Holiday");
        }

        if (n == AwayAtShortNotice)
        {
            // What an office finds on an ordinary morning: somebody away on a day that has lessons.
            var day = Enumerable.Range(2, 30).Select(_calendar.Today.PlusDays).First(day => _calendar.IsOpen(n, day) && day.DayOfWeek < IsoDayOfWeek.Saturday);
            AddTimeOff(ids, row, day, day, "Standards check");
        }
    }

    private void AddTimeOff(ScaleIds ids, Instructor row, LocalDate from, LocalDate to, string reason)
    {
        var asked = Instant.Min(_calendar.At(from.PlusWeeks(-8), 19), _calendar.Now - Duration.FromDays(3));
        _rows.Add(new TimeOffRow
        {
            Id = ids.Next(asked),
            InstructorId = row.Id,
            StartsAt = _calendar.Zone.AtStartOfDay(from).ToInstant(),
            EndsAt = _calendar.Zone.AtStartOfDay(to.PlusDays(1)).ToInstant(),
            Reason = reason,
        });
        Note(ids, asked, "instructor.time_off.add", row.Id, $"Added time off of {row.Name}.");
    }

    private void Note(ScaleIds ids, Instant at, string what, Guid about, string words) =>
        _rows.Add(new AuditEntry { Id = ids.Next(at), At = at, ByPersonId = Office.PersonId, ByName = Office.Name, What = what, AboutId = about, Words = words });
}
