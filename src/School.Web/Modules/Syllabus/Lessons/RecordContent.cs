using System.Text.Json;
using School.Core;
using School.Core.Syllabus;
using School.Web.Modules.Diary.Contracts;

namespace School.Web.Modules.Syllabus.Lessons;

internal sealed record LevelRequest([property: AtMost(Core.Syllabus.Skill.LongestKey)] string? Skill, SkillLevel Level);

/// <summary>What an instructor writes down after a lesson. It replaces what stood before, so what is left out is gone from the record, not from its history.</summary>
internal sealed record RecordRequest(
    [property: Between(1, LessonSheet.LongestMinutes)] int MinutesTaught, [property: AtMost(LessonRecord.LongestText)] string? Note = null,
    [property: Items(0, SyllabusEdition.MostSkills)] IReadOnlyList<LevelRequest>? Levels = null, [property: AtMost(LessonRecord.LongestText)] string? Aim = null,
    [property: AtMost(LessonRecord.LongestText)] string? PrivateNote = null, RouteKind? RouteKind = null,
    [property: Between(0, (double)LessonRecord.MostMiles)] decimal? Miles = null);

/// <summary>A whole record as it stood at one time.</summary>
internal sealed record RecordContent(
    int MinutesTaught, string Note, int Edition, IReadOnlyList<LevelGiven> Levels, string Aim, string PrivateNote, RouteKind? RouteKind, decimal? Miles,
    string Reflection)
{
    /// <summary>Of a lesson that was taught.</summary>
    public static RecordContent Of(LessonSheet lesson, LessonRecord record) => new(
        lesson.MinutesTaught ?? 0, lesson.Note, record.Edition, record.Levels, record.Aim, record.PrivateNote, record.Route, record.Miles, record.Reflection);

    public static RecordContent Read(string json) => JsonSerializer.Deserialize<RecordContent>(json, KeptEdition.Format)!;

    public string Write() => JsonSerializer.Serialize(this, KeptEdition.Format);

    public bool SaysTheSameAs(RecordContent other)
    {
        var none = Array.Empty<LevelGiven>();
        return (this with { Levels = none }) == (other with { Levels = none }) && Levels.SequenceEqual(other.Levels);
    }
}
