namespace School.Core.Accounts;

/// <summary>The accounts of a set of books. A debit is positive, a credit negative.</summary>
/// <remarks>The numbers are kept with each line and never change. Double entry as such: common practice, no source.</remarks>
public enum LedgerAccount
{
    /// <summary>What pupils owe (debit), or have paid ahead without buying hours (credit); per pupil.</summary>
    Receivable = 1,

    /// <summary>Money on the school's bank account.</summary>
    Bank = 2,

    /// <summary>Cash in somebody's hand until it is banked; per instructor, or the office's.</summary>
    Cash = 3,

    /// <summary>Card payments on their way to the bank.</summary>
    Card = 4,

    /// <summary>Hours sold and not yet taught: a liability, in pence and in minutes; per pupil and block.</summary>
    Prepaid = 5,

    /// <summary>Lessons taught.</summary>
    LessonIncome = 6,

    /// <summary>Lessons cancelled or moved too late.</summary>
    LateIncome = 7,

    /// <summary>Lessons to which the pupil did not come.</summary>
    MissedIncome = 8,

    /// <summary>VAT charged and not yet paid over.</summary>
    VatOut = 9,

    /// <summary>Debts given up, and differences of counted cash.</summary>
    WriteOff = 10,

    /// <summary>What was owed and held when the books were opened.</summary>
    OpeningBalances = 11,
}
