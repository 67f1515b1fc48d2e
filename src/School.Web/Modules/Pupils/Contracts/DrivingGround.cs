using NodaTime;
using School.Core.Cars;
using School.Core.Pupils;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>Whether somebody drives a car as a learner or on a full licence: by the licence that was seen, or by a test passed since.</summary>
internal sealed class DrivingGround(IPupilDiary diary, SchoolInfo school)
{
    public async Task<bool> IsLearnerAsync(PupilCard pupil, LocalDate on, Gearbox gearbox, CancellationToken cancel)
    {
        if (Licence.On(pupil.Licence, on, gearbox, pupil.BirthDate) == LicenceStanding.Holder)
        {
            return false;
        }

        var zone = (await school.GetAsync(cancel)).Zone;
        return !(await diary.TestsAsync(pupil.Id, cancel)).Any(test =>
            test.Allows(gearbox) && test.StartsAt.InZone(zone).Date is var day && day <= on && Licence.PassStands(pupil.Licence, day));
    }
}
