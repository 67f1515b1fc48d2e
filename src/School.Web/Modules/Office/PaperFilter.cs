using NodaTime;
using School.Core.Papers;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Office;

/// <summary>Which papers are asked for.</summary>
/// <param name="Holder">Only those of pupils, instructors or cars.</param>
/// <param name="Kind">Only those of one kind.</param>
/// <param name="Within">Only those that end within so many days, or have ended.</param>
internal sealed record PaperFilter(PaperHolder? Holder, PaperKind? Kind, int? Within)
{
    public const int MostDays = 3660;

    public const string WrongDays = "Give a number of days from 0 to 3660.";

    public IReadOnlyList<HeldPaper> Of(IReadOnlyList<HeldPaper> all, LocalDate today) =>
    [
        .. all.Where(held => (Holder is null || held.Paper.Holder == Holder) && (Kind is null || held.Paper.Kind == Kind)
            && (Within is not { } days || held.Paper.IsVoid || held.Paper.Until <= today.PlusDays(days))),
    ];
}
