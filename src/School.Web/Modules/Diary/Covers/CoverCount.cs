namespace School.Web.Modules.Diary.Covers;

/// <summary>How many lessons a press moves, and how many it cancels.</summary>
internal readonly record struct CoverCount(int Moved, int Cancelled)
{
    public static CoverCount Of(IEnumerable<CoverRow> rows)
    {
        var all = rows.ToList();
        return new(all.Count(row => row.Proposed is not null), all.Count(row => row.Proposed is null));
    }

    /// <summary>What the button named, so that nothing else is done by it.</summary>
    public string Code => $"{Moved}:{Cancelled}";

    /// <summary>"Move 3 lessons and cancel 1".</summary>
    public string Button => (Moved, Cancelled) switch
    {
        (0, 0) => "Tick what is to be done",
        (_, 0) => $"Move {Words.Count(Moved, "lesson")}",
        (0, _) => $"Cancel {Words.Count(Cancelled, "lesson")}",
        _ => $"Move {Words.Count(Moved, "lesson")} and cancel {Cancelled}",
    };

    /// <summary>"3 lessons moved, 1 cancelled."</summary>
    public string Done => (Moved, Cancelled) switch
    {
        (_, 0) => $"{Words.Count(Moved, "lesson")} moved.",
        (0, _) => $"{Words.Count(Cancelled, "lesson")} cancelled.",
        _ => $"{Words.Count(Moved, "lesson")} moved, {Cancelled} cancelled.",
    };
}
