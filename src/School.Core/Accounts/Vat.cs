using NodaTime;

namespace School.Core.Accounts;

/// <summary>VAT that is contained in a price to the public.</summary>
/// <remarks>
/// Driving tuition is not exempt (UKVAT V20275, 2007). To the nearest penny: rounding down is only for invoice traders, not for sales to the public
/// (HMRC VATREC12010).
/// </remarks>
public static class Vat
{
    /// <summary>The standard rate from a day on; before 4 January 2011 other rates held, and nothing is posted that long ago.</summary>
    private static readonly (LocalDate From, int PerMille)[] Standard = [(new(2011, 1, 4), 200)];

    /// <summary>The twelve-month turnover from which a seller must register, in pence, from 1 April 2024 (gov.uk policy paper of 7 March 2024).</summary>
    public const long ThresholdPence = 90_000_00;

    /// <summary>The standard rate on a day, in thousandths.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A day before 4 January 2011.</exception>
    public static int RateOn(LocalDate day)
    {
        foreach (var (from, rate) in Standard)
        {
            if (day >= from)
            {
                return rate;
            }
        }

        throw new ArgumentOutOfRangeException(nameof(day), day, "No rate is known that long ago.");
    }

    /// <summary>The VAT inside a price, to the nearest penny, half a penny away from nought.</summary>
    /// <param name="grossPence">The price with VAT, in pence; negative for what is taken back.</param>
    /// <param name="perMille">The rate in thousandths, 0 to 1000.</param>
    public static long Inside(long grossPence, int perMille) => Pence.Share(grossPence, perMille, 1000 + perMille);
}
