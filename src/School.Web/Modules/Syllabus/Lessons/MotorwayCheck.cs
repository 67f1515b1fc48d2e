using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>Whether a lesson may have gone over a motorway, by who taught it and in what car.</summary>
internal sealed class MotorwayCheck(DrivingGround ground, InstructorBook instructors, CarPark cars, SchoolInfo school)
{
    /// <summary>The refusal of a record that tells of a motorway, by its route or by the skill; null where it tells of none or all is as the rule asks.</summary>
    public async Task<Refusal?> RefuseAsync(PupilCard pupil, LocalDate on, Guid instructorId, Guid carId, RouteKind? route, IEnumerable<LevelGiven> levels, CancellationToken cancel)
    {
        if (route is not RouteKind.Motorway && levels.All(level => level.Skill != MotorwayRule.Skill))
        {
            return null;
        }

        var instructor = (await instructors.FindAsync(instructorId, cancel))!;
        var car = (await cars.ReadAsync((await school.GetAsync(cancel)).Zone, alsoRetired: true, cancel)).Cars.First(c => c.Id == carId);
        return MotorwayRule.Of(instructor.Facts.Kind, car.Facts.DualControls) is { } problem && await ground.IsLearnerAsync(pupil, on, car.Facts.Gearbox, cancel)
            ? Refusal.Rule(problem.Code, problem.Sentence)
            : null;
    }
}
