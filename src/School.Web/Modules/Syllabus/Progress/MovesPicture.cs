using System.Globalization;
using School.Core.Syllabus;

namespace School.Web.Modules.Syllabus.Progress;

/// <summary>The levels of a skill over the hours taught, as a line with a step for every move.</summary>
internal sealed record MovesPicture(IReadOnlyList<LevelMove> Moves, int MinutesTaught)
{
    public const int Width = 340;
    public const int Height = 150;
    public const int Left = 92;
    private const int Right = 330;
    private const int Top = 14;
    private const int Step = 26;

    public static IEnumerable<(SkillLevel Level, int Y)> Rungs => Enum.GetValues<SkillLevel>().Select(level => (level, Y(level)));

    public static int Y(SkillLevel level) => Top + (((int)SkillLevel.Reflection - (int)level) * Step);

    public IEnumerable<(string X, int Y)> Points => Moves.Select(move => (X(move.MinutesTaught), Y(move.Level)));

    /// <summary>Holds each level until the next lesson that gave one, and the last one until now.</summary>
    public string Line => Moves.Count == 0
        ? ""
        : $"M{X(Moves[0].MinutesTaught)} {Y(Moves[0].Level)}" + string.Concat(Moves.Skip(1).Select(move => $"H{X(move.MinutesTaught)}V{Y(move.Level)}")) + $"H{X(MinutesTaught)}";

    private string X(int minutes) => (Left + 8 + ((Right - Left - 8.0) * minutes / Math.Max(1, MinutesTaught))).ToString("0.#", CultureInfo.InvariantCulture);
}
