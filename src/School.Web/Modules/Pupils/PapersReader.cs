using NodaTime;
using School.Core.Cars;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Pupils;

/// <summary>Puts together what is known of a pupil's papers, with the next test ahead.</summary>
internal sealed class PapersReader(IPupilDiary diary, SchoolInfo school)
{
    public async Task<PaperFacts> FactsAsync(Pupil pupil, LocalDate on, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var all = (await diary.TestsAsync(pupil.Id, cancel)).Where(test => !test.IsTakenOff).OrderBy(test => test.StartsAt).ToList();
        var ahead = all.Where(test => test.Passed is null).Select(test => (LocalDate?)test.StartsAt.InZone(zone).Date).FirstOrDefault(day => day >= on);
        var passes = all.Where(test => test.Passed == true && Licence.PassStands(pupil.SeenLicence(), test.StartsAt.InZone(zone).Date)).ToList();
        return new(pupil.LearnerFacts(), pupil.TheoryPassedOn, pupil.LicenceCheckedOn, ahead, passes.Count > 0,
            passes.Exists(test => test.Allows(pupil.Gearbox ?? Gearbox.Manual) && test.StartsAt.InZone(zone).Date <= on));
    }

    public async Task<IReadOnlyList<PaperItem>> ListAsync(Pupil pupil, LocalDate on, CancellationToken cancel) =>
        PupilPapers.Of(await FactsAsync(pupil, on, cancel), on);
}
