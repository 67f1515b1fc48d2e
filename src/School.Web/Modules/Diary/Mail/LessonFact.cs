namespace School.Web.Modules.Diary.Mail;

/// <summary>Names of the facts in letters about lessons.</summary>
internal static class LessonFact
{
    public const string Lesson = "lesson";
    public const string Before = "before";
    public const string Pupil = "pupil";
    public const string Instructor = "instructor";
    public const string InstructorPhone = "instructor_phone";
    public const string PickUp = "pick_up";
    public const string DropOff = "drop_off";
    /// <summary>What the school calls its kind, where it is not a lesson like any other.</summary>
    public const string Kind = "kind";

    /// <summary>What the school called it before, and what it calls it now.</summary>
    public const string FormerKind = "former_kind";
    public const string NewKind = "new_kind";

    /// <summary>A rest within it; there may be several.</summary>
    public const string Break = "break";

    public const string Reason = "reason";
    public const string Charge = "charge";
    public const string ChargeAct = "charge_act";
    public const string ChargeStart = "charge_start";
    /// <summary>It would be charged, and comes to no money.</summary>
    public const string NothingAsked = "nothing_asked";

    public const string ChargeFreeUntil = "charge_free_until";
    public const string ChargedAt = "charged_at";

    /// <summary>The pupil stands on the waiting list now.</summary>
    public const string Waits = "waits";

    /// <summary>What is seen and asked before the wheels turn; two letters of one kind each as a fact of its own.</summary>
    public const string BeforeDriving = "before_driving";

    public const string FreeHours = "free_hours";
    public const string LateMinutes = "late_minutes";
    public const string Starts = "starts";

    /// <summary>What the change makes of the instructor who reads it, where it is not simply theirs.</summary>
    public const string Part = "part";
    public const string Former = "former";
    public const string New = "new";

    /// <summary>Code of the act that opens the lesson.</summary>
    public const string Open = "open_lesson";

    /// <summary>Code of the act that books another.</summary>
    public const string Book = "book_lesson";
}
