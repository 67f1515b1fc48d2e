using System.Text.Json.Serialization;
using NodaTime;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Cars;

/// <summary>A period, both days included.</summary>
internal sealed record AllocationPeriod([property: JsonRequired] LocalDate From, [property: JsonRequired] LocalDate To);

/// <summary>Proposes who gets which car, and carries a proposal out: dated holdings and the cars of the lessons, in one transaction.</summary>
internal sealed class GiveOutCars(SchoolDb db, CarsNeeded needed, CarDays carDays, LessonCars lessonCars, SchoolInfo school, IClock clock)
{
    public const int LongestDays = 31;

    private static readonly Refusal Changed = Refusal.Conflict(
        "allocation_stale", "Lessons or cars have changed since this was worked out, so nothing was done. Look at the new proposal and carry it out then.");

    public async Task<Outcome<AllocationProposal>> ProposeAsync(AllocationPeriod period, CancellationToken cancel) =>
        await WrongAsync(period, cancel) is { } refusal ? refusal : await needed.ProposeAsync(period.From, period.To, cancel);

    public async Task<Outcome<AllocationProposal>> RunAsync(AllocationPeriod period, string? seen, Viewer viewer, CancellationToken cancel)
    {
        if (await WrongAsync(period, cancel) is { } refusal)
        {
            return refusal;
        }

        return await db.InTransactionAsync<AllocationProposal>(async cancel =>
        {
            var looked = await needed.ProposeAsync(period.From, period.To, cancel);
            var cars = looked.Lines.SelectMany(line => new[] { line.CarId, line.HasCarId }).OfType<Guid>().Distinct().ToList();
            await lessonCars.LockAsync([.. looked.Lines.SelectMany(line => line.Lessons)], cars, cars.Select(CarDays.LockOf), cancel);
            var proposal = await needed.ProposeAsync(period.From, period.To, cancel);
            if (proposal.Seen != seen)
            {
                return Changed;
            }

            var changes = proposal.Lines.Where(line => line.IsChange).ToList();
            if (changes.Count == 0)
            {
                return Refusal.Rule("nothing_to_change", "Everybody has the car they need already, or there is none to give.");
            }

            foreach (var (car, instructor, from, to) in Holdings(changes))
            {
                if (await carDays.GiveAsync(car, instructor, from, to, cancel) is { } refused)
                {
                    return refused;
                }
            }

            var others = changes.SelectMany(line => line.Lessons.Where(l => l.CarId != line.CarId).Select(l => (l.LessonId, CarId: line.CarId!.Value)));
            return await lessonCars.PutIntoAsync(others.ToDictionary(pair => pair.LessonId, pair => pair.CarId), viewer, cancel) is { } no
                ? no
                : await needed.ProposeAsync(period.From, period.To, cancel);
        }, cancel);
    }

    /// <summary>One holding for days that follow each other.</summary>
    private static List<(Guid Car, Guid Instructor, LocalDate From, LocalDate To)> Holdings(IEnumerable<AllocationLine> changes)
    {
        var holdings = new List<(Guid Car, Guid Instructor, LocalDate From, LocalDate To)>();
        foreach (var line in changes.Where(line => line.CarId != line.HasCarId).OrderBy(line => line.CarId).ThenBy(line => line.InstructorId).ThenBy(line => line.Date))
        {
            var (car, who) = (line.CarId!.Value, line.InstructorId);
            if (holdings.Count > 0 && holdings[^1] is var last && last.Car == car && last.Instructor == who && last.To.PlusDays(1) == line.Date)
            {
                holdings[^1] = last with { To = line.Date };
            }
            else
            {
                holdings.Add((car, who, line.Date, line.Date));
            }
        }

        return holdings;
    }

    private async Task<Refusal?> WrongAsync(AllocationPeriod period, CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        return new FieldErrors()
            .When(period.From < today, nameof(period.From), "The first day has passed. Cars are given out from today on.")
            .When(period.To < period.From, nameof(period.To), "The last day must not be before the first.")
            .When(period.From > today.PlusDays(366), nameof(period.From), "That is more than a year away. Look at the year.")
            .When(period.To > period.From && Period.DaysBetween(period.From, period.To) >= LongestDays, nameof(period.To), $"Look at no more than {LongestDays} days at a time.")
            .ToRefusal();
    }
}
