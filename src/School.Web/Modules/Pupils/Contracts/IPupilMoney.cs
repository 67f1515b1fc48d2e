using NodaTime;
using School.Web.Platform.Access;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>What a pupil owes and has left, for the page about them.</summary>
/// <param name="Page">Where the account is.</param>
/// <param name="OwedPence">Negative where the school holds money of theirs.</param>
/// <param name="MinutesLeft">Prepaid minutes.</param>
internal sealed record PupilMoneyCard(string Page, long OwedPence, int MinutesLeft);

/// <summary>What is due once a lesson is over, to be taken where it ended.</summary>
/// <param name="Page">Where it is taken.</param>
/// <param name="Name">The pupil.</param>
/// <param name="DuePence">What is to be paid, that lesson included; nought or less where nothing is.</param>
/// <param name="BeforePence">What of it was owed before that lesson.</param>
/// <param name="MinutesLeft">Prepaid minutes that are left after it.</param>
/// <param name="On">The day of the lesson, which is that of the payment.</param>
/// <param name="PaymentId">The id that a payment taken by this reading gets: a press too many takes nothing.</param>
internal sealed record KerbMoney(string Page, string Name, long DuePence, long BeforePence, int MinutesLeft, LocalDate On, Guid PaymentId);

/// <summary>What the accounts know of a pupil; the accounts fill it.</summary>
internal interface IPupilMoney
{
    /// <summary>Null where no money is kept, or it is not for the viewer to see.</summary>
    Task<PupilMoneyCard?> FindAsync(Guid pupilId, Viewer viewer, CancellationToken cancel);

    /// <summary>What is due after a lesson, written down already or not; null as above.</summary>
    Task<KerbMoney?> AtKerbAsync(Guid pupilId, Guid lessonId, Viewer viewer, CancellationToken cancel);
}
