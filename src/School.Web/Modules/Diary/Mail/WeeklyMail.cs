namespace School.Web.Modules.Diary.Mail;

/// <summary>The kinds of letter about several lessons of one pupil that are alike.</summary>
internal static class WeeklyMail
{
    public const string Booked = "weekly_booked";
    public const string Moved = "weekly_moved";
    public const string Cancelled = "weekly_cancelled";
}
