using School.Web.Platform.Access;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>What a pupil owes and has left, for the page about them.</summary>
/// <param name="Page">Where the account is.</param>
/// <param name="OwedPence">Negative where the school holds money of theirs.</param>
/// <param name="MinutesLeft">Prepaid minutes.</param>
internal sealed record PupilMoneyCard(string Page, long OwedPence, int MinutesLeft);

/// <summary>What the accounts know of a pupil; the accounts fill it.</summary>
internal interface IPupilMoney
{
    /// <summary>Null where no money is kept, or it is not for the viewer to see.</summary>
    Task<PupilMoneyCard?> FindAsync(Guid pupilId, Viewer viewer, CancellationToken cancel);
}
