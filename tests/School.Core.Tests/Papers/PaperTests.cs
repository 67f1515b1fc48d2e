using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Papers;
using School.Core.Pupils;

namespace School.Core.Tests.Papers;

/// <summary>How a paper stands on a day, judged by walking over the days one by one, and by the rules that forbid lessons.</summary>
public sealed class PaperTests
{
    private static readonly LocalDate Start = new(2026, 1, 1);
    private static readonly PaperSource Source = new("A test", Start);

    // From memory of nobody: days chosen by hand around the ends and the thirty days before.
    [Theory]
    [InlineData("2026-03-01", "2026-06-30", "2026-02-28", PaperState.NotYetValid)]
    [InlineData("2026-03-01", "2026-06-30", "2026-03-01", PaperState.Valid)]
    [InlineData("2026-03-01", "2026-06-30", "2026-05-30", PaperState.Valid)]
    [InlineData("2026-03-01", "2026-06-30", "2026-05-31", PaperState.EndsSoon)]
    [InlineData("2026-03-01", "2026-06-30", "2026-06-30", PaperState.EndsSoon)]
    [InlineData("2026-03-01", "2026-06-30", "2026-07-01", PaperState.Ended)]
    [InlineData(null, "2026-06-30", "1999-01-01", PaperState.Valid)]
    [InlineData("2026-03-01", null, "2099-01-01", PaperState.Valid)]
    [InlineData(null, null, "2026-01-01", PaperState.Valid)]
    public void A_paper_stands_as_its_days_say(string? from, string? until, string on, PaperState state) =>
        Assert.Equal(state, Of(PaperKind.Tax, Date(from), Date(until)).StateOn(Date(on)!.Value));

    [Fact]
    public void A_record_is_looked_at_again_an_application_made_in_time_goes_on_and_a_void_licence_is_good_for_nothing()
    {
        var day = Start.PlusDays(400);
        Assert.Equal(PaperState.LookAgain, Of(PaperKind.DrivingRecord, Start, Start.PlusDays(180)).StateOn(day));
        Assert.True(Of(PaperKind.DrivingRecord, Start, Start.PlusDays(180)).IsGoodOn(day));
        Assert.Equal(PaperState.EndsSoon, (Of(PaperKind.TraineeLicence, Start, Start.PlusDays(180)) with { GoesOn = true }).StateOn(day));
        Assert.Equal(PaperState.Ended, (Of(PaperKind.Licence, Start, null) with { IsVoid = true }).StateOn(day));
    }

    [Fact]
    public void Every_day_of_any_paper_stands_as_somebody_says_who_walks_over_the_days()
    {
        var random = new Random(20261127);
        for (var n = 0; n < 300; n++)
        {
            var kind = random.Next(4) == 0 ? PaperKind.DrivingRecord : PaperKind.Insurance;
            LocalDate? from = random.Next(4) == 0 ? null : Start.PlusDays(random.Next(-40, 120));
            LocalDate? until = random.Next(4) == 0 ? null : (from ?? Start).PlusDays(random.Next(-1, 150));
            var paper = Of(kind, from, until) with { GoesOn = random.Next(5) == 0, IsVoid = random.Next(10) == 0 };
            for (var day = Start.PlusDays(-60); day < Start.PlusDays(330); day = day.PlusDays(1))
            {
                Assert.Equal((n, day, Walked(paper, day)), (n, day, paper.StateOn(day)));
            }
        }
    }

    [Fact]
    public void A_licence_is_good_on_exactly_the_days_on_which_it_allows_driving()
    {
        var random = new Random(11);
        var born = new LocalDate(1958, 5, 4);
        for (var n = 0; n < 200; n++)
        {
            var kind = (LicenceKind)random.Next(5);
            var from = Start.PlusDays(random.Next(-600, 60));
            var licence = new Licence(
                kind, from, random.Next(2) == 0 ? null : from.PlusDays(random.Next(0, 900)), kind == LicenceKind.Foreign ? Start.PlusDays(random.Next(-700, 0)) : null,
                kind == LicenceKind.Disqualified ? Start.PlusDays(random.Next(0, 200)) : null, kind == LicenceKind.Foreign && random.Next(2) == 0);
            var paper = Assert.Single(PupilPaperDates.Of(Seen() with { BirthDate = born, Licence = licence }, theoryCounts: true));
            Assert.Equal((kind == LicenceKind.Disqualified, licence.DisqualifiedUntil), (paper.IsVoid, paper.VoidUntil));
            for (var day = Start; day < Start.PlusDays(1200); day = day.PlusDays(1))
            {
                // Of a foreign licence for automatics, in an automatic.
                Assert.Equal((n, day, Licence.On(licence, day, Gearbox.Automatic, born).MayDrive()), (n, day, paper.IsGoodOn(day)));
            }
        }
    }

    [Fact]
    public void Theory_eyesight_and_the_record_stand_as_the_lines_about_them_say()
    {
        var random = new Random(12);
        for (var n = 0; n < 60; n++)
        {
            var (passed, looked, read) = (Start.PlusDays(random.Next(-760, 0)), Start.PlusDays(random.Next(-300, 0)), Start.PlusDays(random.Next(-300, 0)));
            var failed = random.Next(3) == 0;
            var papers = PupilPaperDates.Of(
                Seen() with { TheoryPassedOn = passed, RecordSeen = (looked, null), EyesightPassedOn = failed ? null : read, EyesightFailedOn = failed ? read : null }, theoryCounts: true)
                .ToDictionary(paper => paper.Kind);
            for (var day = Start; day < Start.PlusDays(800); day = day.PlusDays(1))
            {
                var learner = new LearnerFacts(new(2000, 1, 1), Licence.Provisional(new(2020, 1, 1)), failed ? null : read, EyesightFailedOn: failed ? read : null);
                var lines = PupilPapers.Of(new(learner, passed, looked), day).Select(line => line.Code).ToHashSet();
                Assert.Equal(lines.Contains("theory_lapsed"), papers[PaperKind.Theory].StateOn(day) == PaperState.Ended);
                Assert.Equal(lines.Contains("licence_check_due"), papers[PaperKind.DrivingRecord].StateOn(day) == PaperState.LookAgain);
                Assert.Equal(lines.Contains("eyesight_failed"), papers[PaperKind.Eyesight].StateOn(day) == PaperState.Ended);
            }
        }
    }

    [Fact]
    public void A_car_may_be_taught_in_on_exactly_the_days_on_which_all_its_papers_are_good()
    {
        var random = new Random(13);
        for (var n = 0; n < 200; n++)
        {
            var registered = Start.PlusDays(random.Next(-1500, -700));
            LocalDate? Some(int from, int to) => random.Next(4) == 0 ? null : Start.PlusDays(random.Next(from, to));
            var car = new CarFacts(Guid.NewGuid(), Gearbox.Manual, true, registered, Some(-500, 500), Some(0, 700), Some(0, 700), Some(0, 700), []);
            var papers = CarPaperDates.Of(car);
            for (var day = registered.PlusDays(-3); day < Start.PlusDays(800); day = day.PlusDays(1))
            {
                // Before it is registered there is no car to teach in, whatever its papers.
                Assert.Equal((n, day, car.WhyNotOn(day) is null), (n, day, day >= registered && papers.All(paper => paper.IsGoodOn(day))));
            }
        }
    }

    [Fact]
    public void An_instructor_may_teach_on_exactly_the_days_on_which_the_paper_is_good()
    {
        var random = new Random(14);
        for (var n = 0; n < 200; n++)
        {
            var last = Start.PlusDays(random.Next(0, 300));
            var kind = random.Next(2) == 0 ? RegistrationKind.Trainee : RegistrationKind.Approved;
            var instructor = new InstructorFacts(
                Guid.NewGuid(), [Gearbox.Manual], default, kind, random.Next(2) == 0 ? null : last.PlusDays(-random.Next(1, 300)), last, null,
                kind == RegistrationKind.Trainee && random.Next(2) == 0 ? last.PlusDays(random.Next(-20, 3)) : null);
            var paper = InstructorPaperDates.Of(instructor)!;
            for (var day = Start.PlusDays(-320); day < Start.PlusDays(400); day = day.PlusDays(1))
            {
                Assert.Equal((n, day, instructor.IsRegisteredOn(day)), (n, day, paper.IsGoodOn(day)));
            }
        }

        Assert.Null(InstructorPaperDates.Of(new(Guid.NewGuid(), [], default, RegistrationKind.Approved, null, InstructorFacts.NotAsked, null)));
    }

    /// <summary>Says it without arithmetic on dates: which days are good, and how many more of them follow.</summary>
    private static PaperState Walked(Paper paper, LocalDate on)
    {
        if (paper.IsVoid)
        {
            return PaperState.Ended;
        }

        bool Good(LocalDate day) => (paper.From is not { } from || day.CompareTo(from) >= 0) && (paper.Until is not { } until || day.CompareTo(until) <= 0);
        if (Good(on))
        {
            var more = 0;
            for (var day = on.PlusDays(1); more <= 31 && Good(day); day = day.PlusDays(1))
            {
                more++;
            }

            return more <= 30 ? PaperState.EndsSoon : PaperState.Valid;
        }

        return paper.From is { } begins && on.CompareTo(begins) < 0 ? PaperState.NotYetValid
            : paper.GoesOn ? PaperState.EndsSoon
            : paper.Kind == PaperKind.DrivingRecord ? PaperState.LookAgain
            : PaperState.Ended;
    }

    private static PupilSightings Seen() => new(Guid.NewGuid(), null, null, (null, null), null, (null, null), (null, null), null, null, null);

    private static Paper Of(PaperKind kind, LocalDate? from, LocalDate? until) => new(PaperHolder.Car, Guid.NewGuid(), kind, from, until, PaperStops.Car, Source);

    private static LocalDate? Date(string? text) => text is null ? null : NodaTime.Text.LocalDatePattern.Iso.Parse(text).Value;
}
