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
    private const int MostTold = 60;

    public static IEnumerable<(SkillLevel Level, int Y)> Rungs => Enum.GetValues<SkillLevel>().Select(level => (level, Y(level)));

    public static int Y(SkillLevel level) => Top + (((int)SkillLevel.Reflection - (int)level) * Step);

    /// <summary>Every lesson that gave a level; of a long course those that changed it, and the last ones if it changed often.</summary>
    public IReadOnlyList<LevelMove> Told { get; } = Moves.Count <= MostTold
        ? Moves
        : [.. Moves.Where((move, i) => i == 0 || i == Moves.Count - 1 || move.Level != Moves[i - 1].Level).TakeLast(MostTold)];

    public IEnumerable<(string X, int Y)> Points => Told.Select(move => (X(move.MinutesTaught), Y(move.Level)));

    /// <summary>Holds each level until the next lesson that gave one, and the last one until now.</summary>
    public string Line => Told.Count == 0
        ? ""
        : $"M{X(Told[0].MinutesTaught)} {Y(Told[0].Level)}" + string.Concat(Told.Skip(1).Select(move => $"H{X(move.MinutesTaught)}V{Y(move.Level)}")) + $"H{X(MinutesTaught)}";

    private string X(int minutes) => (Left + 8 + ((Right - Left - 8.0) * minutes / Math.Max(1, MinutesTaught))).ToString("0.#", CultureInfo.InvariantCulture);
}
