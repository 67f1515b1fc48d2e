using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records;
using School.Web.Modules.Syllabus.Readiness;
using School.Web.Platform.Access;

namespace School.Web.Demo.Scale;

/// <summary>One pupil with everything that is theirs: papers, lessons, tests, letters, audit.</summary>
internal sealed class ScalePupil
{
    private static readonly string[] Browsers = ["Firefox on Android", "Safari on an iPhone", "Chrome on Windows"];

    public ScalePupil(ScaleGround ground, ScaleRows rows, Course course)
    {
        (Ground, Rows, Course, Ids, Dice) = (ground, rows, course, new(course.Number + 1), new(course.Number, ground.Calendar.Start.Year));
        Teacher = ground.Staff.Teachers[course.Instructor];
        Joined = ground.Calendar.At(course.Starts[0].Date.PlusDays(-16), 10) + Duration.FromMinutes(Dice.Next(400));
        Row = Make();
        Card = PupilBook.Card(Row);
        Person = ScalePeople.Add(rows, Ids, Joined, Row.Name, Row.Email, pupilId: Row.Id, closed: !course.Present);
        Viewer = new(Person.Id, OfficeParts.None, null, Row.Id, Row.Name);
        Receiver = Receiver.Pupil(Row.Id);
        Address = new(Row.Name, Row.Email);
    }

    public ScaleGround Ground { get; }

    public ScaleRows Rows { get; }

    public Course Course { get; }

    public ScaleIds Ids { get; }

    public Dice Dice { get; }

    public ScaleTeacher Teacher { get; }

    public Instant Joined { get; }

    public Pupil Row { get; }

    public PupilCard Card { get; }

    public Person Person { get; }

    public Viewer Viewer { get; }

    public Receiver Receiver { get; }

    public Addressee Address { get; }

    /// <summary>Writes all of it.</summary>
    public void Live(ScaleOffers offers)
    {
        AuditPapers();
        var learning = new DemoLearning(Ground.Syllabus, Course.Number);
        var lessons = new List<Lesson>();
        for (var n = 0; n < Course.Starts.Count; n++)
        {
            lessons.Add(new ScaleLesson(this, learning, offers).Live(Course.Starts[n], n));
        }

        new ScaleMocks(this, learning).Drive(lessons);
        var passed = new ScaleTests(this).Take(lessons);
        if (Course.Present)
        {
            AddPlacesAndTimes();
            ShareForecast();
        }
        else
        {
            Leave(passed.PlusDays(1 + Dice.Next(5)));
        }

        offers.Wait(this);
    }

    public void Note(Instant at, Viewer by, string what, Guid about, string words) => Rows.Add(new AuditEntry
    {
        Id = Ids.Next(at),
        At = at,
        ByPersonId = by.PersonId,
        ByName = by.Name,
        What = what,
        AboutId = about,
        Words = words,
    });

    private Pupil Make()
    {
        var (first, joined) = (Course.Starts[0].Date, Joined.InZone(Ground.Calendar.Zone).Date);
        var number = Course.Number;
        return Rows.Add(new Pupil
        {
            Id = Ids.Next(Joined),
            Name = Larkfield.NameOf(number),
            Email = number == 0 ? "pupil@larkfield.example" : $"pupil{number}@larkfield.example",
            Phone = $"+44163296{number % 10_000:0000}",
            BirthDate = first.PlusYears(-17).PlusDays(-30 - Dice.Next(Dice.Percent(15) ? 9000 : 1500)),
            Gearbox = Teacher.Gearbox,
            LicenceFrom = first.PlusDays(-40 - Dice.Next(200)),
            PickUp = Larkfield.PlaceNear(Teacher.Row.Base.At(), number),
            UsualInstructorId = Teacher.Row.Id,
            LessonMinutes = Course.Minutes,
            EmergencyName = "At home",
            EmergencyPhone = $"+44163297{number % 10_000:0000}",
            Need = Larkfield.NeedOf(number, Teacher.Gearbox),
            Notes = number % 7 == 2 ? "Reads slowly: diagrams help." : "",
            EyesightCheckedOn = first,
            EyesightCheckedBy = Teacher.Row.Id,
            TheoryPassedOn = Course.Present && number % 6 == 4 ? null : joined.PlusDays(-Dice.Next(60)),
            LicenceCheckedOn = Course.Present ? Ground.Calendar.Today.PlusDays(-5 - (number % 100)) : joined,
            LicenceCheckedBy = Ground.Staff.Office.PersonId,
        });
    }

    private void AuditPapers()
    {
        var office = Ground.Staff.Office;
        Note(Joined, office, "pupil.add", Row.Id, "Added the pupil.");
        Note(Joined, office, "person.invite", Person.Id, "Invited a pupil to sign in.");
        var evening = Joined + Duration.FromHours(9);
        Note(evening, Viewer, "password.choose", Person.Id, "Chose a first password by the link of an invitation.");
        for (var n = 0; n < 3; n++)
        {
            Note(evening + Duration.FromDays(n * 5), Viewer, "sign-in.open", Person.Id, $"Signed in with a password ({Dice.Of(Browsers)}).");
        }

        Note(Joined + Duration.FromHours(1), office, "pupil.papers.change", Row.Id, "Changed the papers: licence checked by, licence checked on, theory passed on, theory seen by, theory seen on.");
        var first = Ground.Calendar.At(Course.Starts[0]);
        Note(first, Teacher.Viewer, "pupil.eyesight.check", Row.Id, "Recorded the eyesight check.");
        if (Dice.Percent(30))
        {
            Note(first - Duration.FromHours(2), Teacher.Viewer, "pupil.guarded.read", Row.Id, "Opened the driver number and health notes.");
        }

        for (var n = 0; n < 3; n++)
        {
            Row.Touch();
        }
    }

    private void AddPlacesAndTimes()
    {
        if (Course.Number % 4 == 0)
        {
            Rows.Add(new PupilPlace { Id = Ids.Next(Joined), PupilId = Row.Id, At = DemoPlaces.SecondOf(Course.Number) });
        }

        foreach (var time in Course.Number % 2 == 0 ? Larkfield.TimesOf(0) : [])
        {
            Rows.Add(new PupilAvailability { Id = Ids.Next(Joined), PupilId = Row.Id, Day = time.Day, From = time.From, To = time.To });
        }
    }

    /// <summary>Each ninth was shown the forecast, a few days ago.</summary>
    private void ShareForecast()
    {
        if (Course.Number % 9 != 0)
        {
            return;
        }

        var at = Ground.Calendar.Now - Duration.FromDays(1 + (Course.Number % 6));
        Rows.Add(new SharedForecast
        {
            Id = Ids.Next(at),
            PupilId = Row.Id,
            Sentence = "This fits what I see. Let us talk about the test day next time.",
            ByPersonId = Teacher.Viewer.PersonId,
            ByName = Teacher.Row.Name,
            SharedAt = at,
        });
        Note(at, Teacher.Viewer, "pupil.forecast.share", Row.Id, "Let the pupil see the forecast.");
    }

    private void Leave(LocalDate on)
    {
        var at = Ground.Calendar.At(on, 11);
        Row.RetiredOn = on;
        Row.Touch();
        Note(at, Ground.Staff.Office, "pupil.retire", Row.Id, "Let the pupil leave.");
        Note(at, Ground.Staff.Office, "person.close", Person.Id, "Closed the sign-in of a pupil.");
    }
}
