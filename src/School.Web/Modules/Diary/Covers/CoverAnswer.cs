using System.Text.Json;
using System.Text.Json.Serialization;
using NodaTime;
using School.Core.Diary.Cover;
using School.Core.Diary.Slots;
using School.Web.Platform.Api;

namespace School.Web.Modules.Diary.Covers;

/// <summary>A proposal as it is kept.</summary>
internal sealed record CoverAnswer(IReadOnlyList<CoverAnswerLine> Lines, CoverCost Cost, CoverCost Bound)
{
    private static readonly JsonSerializerOptions Options = Json.Configure(new());

    [JsonIgnore]
    public bool IsProven => Cost == Bound;

    public static CoverAnswer Of(CoverProposal proposal) => new(
        [.. proposal.Lines.Select(line => new CoverAnswerLine(
            line.LessonId, line.Place?.InstructorId, line.Place?.CarId, line.Place?.Start,
            [.. line.WhyNot.Select(obstacle => new CoverWhyNot(obstacle.InstructorId, obstacle.Refusal.Code, obstacle.Refusal.Sentence))]))],
        proposal.Cost,
        proposal.Bound);

    public static CoverAnswer? Read(string? json) => json is null ? null : JsonSerializer.Deserialize<CoverAnswer>(json, Options);

    public string ToJson() => JsonSerializer.Serialize(this, Options);
}

/// <summary>Where one lesson goes; without an instructor nobody takes it.</summary>
internal sealed record CoverAnswerLine(Guid LessonId, Guid? InstructorId, Guid? CarId, Instant? Start, IReadOnlyList<CoverWhyNot> WhyNot)
{
    [JsonIgnore]
    public bool IsCovered => InstructorId is not null && CarId is not null && Start is not null;
}

/// <summary>Why one instructor cannot take a lesson at its own time.</summary>
internal sealed record CoverWhyNot(Guid InstructorId, string Code, string Sentence);
