using System.Text.Json;
using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Platform.Api;

namespace School.Web.Modules.Diary.Proposals;

/// <summary>What a line would do.</summary>
internal enum ProposalAct
{
    /// <summary>A lesson is booked.</summary>
    Book,

    /// <summary>A lesson gets another time, instructor or car.</summary>
    Move,

    /// <summary>A lesson is cancelled.</summary>
    Cancel,

    /// <summary>Nothing: it cannot be done, or there is nothing to do.</summary>
    None,
}

/// <summary>What a line would come to for its pupil.</summary>
internal sealed record ProposalCharge(ChargeCode Code, bool Chargeable)
{
    public static ProposalCharge Of(LessonCharge charge) => new(charge.Code, charge.Chargeable);
}

/// <summary>Why something does not go; by instructor where several were tried.</summary>
internal sealed record ProposalWhyNot(Guid? InstructorId, string Code, string Sentence);

/// <summary>One change of a proposal.</summary>
/// <param name="Id">Names it when only some are carried out: the lesson's id where there is one lesson.</param>
/// <param name="Act">What it would do.</param>
/// <param name="LessonIds">The lessons it is about; none for one that is yet to be booked.</param>
/// <param name="InstructorId">Who gives it then.</param>
/// <param name="CarId">In which car then.</param>
/// <param name="Start">When it begins then.</param>
/// <param name="Charge">What it would come to.</param>
/// <param name="WhyNot">What is in the way, of it or of something better.</param>
internal sealed record ProposalLine(
    Guid Id, ProposalAct Act, IReadOnlyList<Guid> LessonIds, Guid? InstructorId, Guid? CarId, Instant? Start, ProposalCharge? Charge, IReadOnlyList<ProposalWhyNot> WhyNot)
{
    public Guid? LessonId => LessonIds is [var one] ? one : null;
}

/// <summary>The part of the diary that decides about a proposal.</summary>
/// <param name="Dates">Its dates.</param>
/// <param name="Subjects">These instructors and cars; null for all.</param>
internal sealed record DiaryPart(IReadOnlyList<LocalDate> Dates, IReadOnlyList<Guid>? Subjects = null)
{
    /// <summary>These pupils too, whatever changes about them: their limits, times, papers or place.</summary>
    public IReadOnlyList<Guid>? Pupils { get; init; }

    public static DiaryPart Between(LocalDate from, LocalDate to) => new([.. Enumerable.Range(0, Period.DaysBetween(from, to) + 1).Select(from.PlusDays)]);
}

/// <summary>What was worked out.</summary>
/// <param name="Lines">In the order in which they are shown.</param>
/// <param name="Part">What decides about it; null where it is judged anew when it is carried out.</param>
/// <param name="Seen">The versions of that part, read before the diary itself.</param>
/// <param name="More">What the kind tells beside the lines.</param>
internal sealed record WorkedOut(IReadOnlyList<ProposalLine> Lines, DiaryPart? Part, string Seen, object? More = null);

/// <summary>How the parts of a proposal are kept.</summary>
internal static class ProposalJson
{
    private static readonly JsonSerializerOptions Options = Json.Configure(new() { IgnoreReadOnlyProperties = true });

    public static string Write(object value) => JsonSerializer.Serialize(value, value.GetType(), Options);

    public static T Read<T>(string json) => JsonSerializer.Deserialize<T>(json, Options)!;

    public static IReadOnlyList<ProposalLine> LinesOf(this Proposal proposal) => proposal.Lines is { } lines ? Read<List<ProposalLine>>(lines) : [];
}
