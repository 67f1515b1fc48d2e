using School.Core;
using School.Core.Accounts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>An account as its reader sees it.</summary>
internal sealed record AccountView(Guid PupilId, PupilAccount Account, SchoolFacts School, int Page, string Address, Viewer Viewer)
{
    public bool Staff => Viewer.Towards(PupilId).May(Permission.TakeMoney);

    public bool Keeps => Viewer.Towards(PupilId).May(Permission.KeepBooks);

    public Reader Reader => Viewer.Towards(PupilId).Reader;
}

/// <summary>By which rule hours are given back, in words.</summary>
internal static class RefundWords
{
    public static string Of(RefundGround ground) => ground switch
    {
        RefundGround.Within14DaysAll => "all of the price: within fourteen days of the sale, and nobody had asked to begin within them",
        RefundGround.Within14DaysProportion => "in proportion: within fourteen days of the sale, begun at the buyer’s wish",
        RefundGround.ProRata => "in proportion to what is left",
        RefundGround.Revalued => "the price less what was used, counted as single lessons",
    };
}
