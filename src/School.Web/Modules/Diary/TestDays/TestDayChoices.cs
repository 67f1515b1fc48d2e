using Microsoft.AspNetCore.Mvc.Rendering;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>What the form about a test day offers to choose from, and what it fills in first.</summary>
internal sealed record TestDayChoices(
    IReadOnlyList<SelectListItem> Pupils, IReadOnlyList<SelectListItem> Instructors, IReadOnlyList<SelectListItem> Cars, IReadOnlyList<SelectListItem> Centres,
    IReadOnlyList<TestDay> KnownCentres, SchoolFacts School, TestDaySettings Settings)
{
    public static readonly IReadOnlyList<SelectListItem> Nations =
    [
        new("England or Wales", "england-and-wales"), new("Scotland", "scotland"), new("Northern Ireland", "northern-ireland"),
    ];

    public static readonly IReadOnlyList<SelectListItem> Outcomes =
    [
        new("Passed", "passed"), new("Failed", "failed"), new("Stopped by the examiner", nameof(TestEnding.Stopped)),
        new("Failed at the eyesight test", nameof(TestEnding.EyesightFailed)), new("Not conducted (papers, car, late or absent)", nameof(TestEnding.NotConducted)),
        new("Cancelled by the agency", nameof(TestEnding.CancelledByAgency)),
    ];
}

internal sealed class TestDayForms(TestDayReader reader, TestDayDates dates, PupilBook pupils, InstructorBook instructors, CarPark carPark, SchoolInfo school)
{
    public async Task<TestDayChoices> ReadAsync(Viewer viewer, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var teachers = await instructors.ListAsync(alsoRetired: false, cancel);
        var cars = (await carPark.ReadAsync(facts.Zone, alsoRetired: false, cancel)).Cars;
        var centres = await reader.CentresAsync(cancel);
        return new(
            viewer.IsStaff ? [.. (await pupils.NamesAsync(viewer, cancel)).Select(p => new SelectListItem(p.Name, p.Id.ToString()))] : [],
            [.. teachers.Where(i => viewer.KeepsDiary || i.Id == viewer.InstructorId).Select(i => new SelectListItem(i.Choice, i.Id.ToString()))],
            [
                .. cars.Select(c => new SelectListItem($"{CarWords.Of(c)}, {c.Plate}", c.Id.ToString())),
                new SelectListItem("The pupil drives another car", TestDayInput.OtherCar),
            ],
            [.. centres.Select(t => new SelectListItem(t.Centre.Label, t.Id.ToString()))],
            centres, facts, await dates.SettingsAsync(cancel));
    }
}
