using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Cars;

/// <summary>A line of the giving out of cars with what its proposal line does not hold.</summary>
internal sealed record AllocationDetail(Guid Id, AllocationLine Line);

/// <summary>What a proposal of cars tells beside its lines.</summary>
internal sealed record AllocationMore(IReadOnlyList<AllocationDetail> Lines, IReadOnlyList<AllocationShortage> Missing, bool IsProven);

/// <summary>The giving out of cars as a proposal: dated holdings, and the cars of the lessons. Nobody gets a letter about a car.</summary>
internal sealed class AllocationRules(CarsNeeded needed, DiaryVersions versions, CarDays carDays, LessonCars lessonCars) : ProposalRules
{
    private static readonly Refusal NothingToChange = Refusal.Rule("nothing_to_change", "Everybody has the car they need already, or there is none to give.");

    public override ProposalKind Kind => ProposalKind.CarAllocation;

    public static AllocationPeriod AskOf(Proposal proposal) => ProposalJson.Read<AllocationPeriod>(proposal.Ask);

    public static AllocationMore MoreOf(Proposal proposal) => ProposalJson.Read<AllocationMore>(proposal.More!);

    public override async Task<Outcome<Found>> WorkOutAsync(Viewer viewer, Proposal proposal, CancellationToken cancel)
    {
        var period = AskOf(proposal);
        var part = DiaryPart.Between(period.From, period.To);
        var seen = await versions.MarkAsync(part, cancel);
        var found = await needed.ProposeAsync(period.From, period.To, cancel);
        var details = found.Lines.Select(line => new AllocationDetail(RowId.New(), line)).ToList();
        return new Found(new(details.ConvertAll(Line), part, seen, new AllocationMore(details, found.Missing, found.IsProven)));
    }

    public override Task<Refusal?> NotYetAsync(
        Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ApplyProposalRequest request, CancellationToken cancel) =>
        Task.FromResult(lines.Any(line => line.Act is ProposalAct.Move) ? null : NothingToChange);

    public override async Task LockAsync(Proposal proposal, IReadOnlyList<ProposalLine> lines, IEnumerable<string> others, CancellationToken cancel)
    {
        var touched = Changes(proposal, lines);
        var cars = touched.SelectMany(line => new[] { line.CarId, line.HasCarId }).OfType<Guid>().Distinct().ToList();
        await lessonCars.LockAsync([.. touched.SelectMany(line => line.Lessons)], cars, cars.Select(CarDays.LockOf).Concat(others), cancel);
    }

    public override async Task<Refusal?> CarryOutAsync(Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ChangesMade made, CancellationToken cancel)
    {
        var changes = Changes(proposal, lines);
        foreach (var (car, instructor, from, to) in Holdings(changes))
        {
            if (await carDays.GiveAsync(viewer, car, instructor, from, to, cancel) is { } refused)
            {
                return refused;
            }
        }

        var others = changes.SelectMany(line => line.Lessons.Where(l => l.CarId != line.CarId).Select(l => (l.LessonId, CarId: line.CarId!.Value)));
        return await lessonCars.PutIntoAsync(others.ToDictionary(pair => pair.LessonId, pair => pair.CarId), viewer, made, cancel);
    }

    private static List<AllocationLine> Changes(Proposal proposal, IReadOnlyList<ProposalLine> lines)
    {
        var chosen = lines.Where(line => line.Act is ProposalAct.Move).Select(line => line.Id).ToHashSet();
        return [.. MoreOf(proposal).Lines.Where(detail => chosen.Contains(detail.Id)).Select(detail => detail.Line)];
    }

    private static ProposalLine Line(AllocationDetail detail)
    {
        var line = detail.Line;
        var whyNot = line.CarId is null ? new ProposalWhyNot(line.InstructorId, "no_car", "No car of that gearbox is on the road, in date and free that day.") : null;
        return new(
            detail.Id, line.IsChange ? ProposalAct.Move : ProposalAct.None, [.. line.Lessons.Select(l => l.LessonId)], line.InstructorId, line.CarId, null,
            line.IsChange ? new ProposalCharge(ChargeCode.FreeSchool, Chargeable: false) : null, whyNot is null ? [] : [whyNot]);
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
}
