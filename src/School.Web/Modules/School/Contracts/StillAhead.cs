using NodaTime;
using School.Web.Platform.Errors;

namespace School.Web.Modules.School.Contracts;

/// <summary>Of whom or of what the lessons and tests ahead are asked; one of the three.</summary>
internal sealed record AheadOf(Guid? PupilId = null, Guid? InstructorId = null, Guid? CarId = null)
{
    /// <summary>Only what lies in a period, wholly or in part; null for all that is to come.</summary>
    public Interval? Within { get; init; }
}

/// <summary>Filled by each module that keeps something ahead of a pupil, an instructor or a car.</summary>
internal interface IKeepAhead
{
    /// <summary>What is booked and still to start.</summary>
    Task<StillAhead> StillAheadAsync(AheadOf whom, CancellationToken cancel);
}

/// <summary>Asked before a pupil, an instructor or a car is retired.</summary>
internal sealed class Ahead(IEnumerable<IKeepAhead> keepers)
{
    public async Task<StillAhead> AskAsync(AheadOf whom, CancellationToken cancel)
    {
        var all = new StillAhead(0, 0);
        foreach (var keeper in keepers)
        {
            var kept = await keeper.StillAheadAsync(whom, cancel);
            all = new(all.Lessons + kept.Lessons, all.Tests + kept.Tests);
        }

        return all;
    }
}

/// <summary>What is booked ahead and keeps a pupil, an instructor or a car from being retired.</summary>
internal sealed record StillAhead(int Lessons, int Tests)
{
    public bool Any => Lessons + Tests > 0;

    /// <summary>"2 lessons and 1 test day".</summary>
    public string What => string.Join(" and ", new[] { Counted(Lessons, "lesson"), Counted(Tests, "test day") }.OfType<string>());

    public string Are => (Lessons > 0 ? Lessons : Tests) == 1 ? "is" : "are";

    /// <summary>What to do about them where others can take them.</summary>
    public string MoveThem => Tests == 0 ? $"Move or cancel {Them}" : Lessons == 0 ? $"Change {Them} or take {Them} off the diary" : "Move, cancel or change them";

    /// <summary>What to do about them where nobody else can.</summary>
    public string EndThem => Tests == 0 ? $"Cancel {Them}" : Lessons == 0 ? $"Take {Them} off the diary" : "Cancel them, or take them off the diary";

    public Refusal Refuse(string sentence) => Refusal.Rule(Lessons > 0 ? "lessons_ahead" : "test_ahead", sentence);

    private string Them => Lessons + Tests == 1 ? "it" : "them";

    private static string? Counted(int count, string one) => count switch { 0 => null, 1 => $"1 {one}", _ => $"{count} {one}s" };
}
