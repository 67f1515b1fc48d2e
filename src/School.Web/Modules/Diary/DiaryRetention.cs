using School.Web.Modules.Records.Contracts;

namespace School.Web.Modules.Diary;

/// <summary>How long the diary keeps what is not a lesson, a test day or their history, which stay.</summary>
internal static class DiaryRetention
{
    public const string OccupiedPast = "occupied_past";
    public const string FreedTimes = "freed_times";
    public const string Proposals = "proposals";

    public static readonly RetentionRule[] Rules =
    [
        new(
            FreedTimes, "Freed times and their offers", "The time that came free and to whom it was offered, from when it would have begun.",
            "Somebody who waited may ask for some months who was offered it before them. A lesson that came of it stays.")
        {
            Days = 365, Least = 92, Most = 1_461, Table = "diary.freed_slots", Key = "id", Since = "r.starts_at", With = [("diary.offers", "freed_id")],
        },
        new(
            "closed_waiting", "Closed entries of the waiting list", "The entry, from when it was closed, once no offer to it is kept.",
            "For some months somebody may ask why they were not offered a time.")
        {
            Days = 365, Least = 92, Most = 1_461, Table = "diary.waiting", Key = "id", Of = "r.closed_at IS NOT NULL", Since = "r.closed_at",
            MayGo = "NOT EXISTS (SELECT FROM diary.offers o WHERE o.waiting_id = r.id)",
        },
        new(
            Proposals, "Sets of changes that were worked out", "What was proposed, from when it was asked for; what was carried out stands in the history of each lesson.",
            "It helps for a while to see what else was proposed.")
        {
            Days = 365, Least = 30, Most = 1_461, Table = "diary.proposals", Key = "id", Of = "r.state <> 'Working'", Since = "r.asked_at", With = [("diary.halt_calls", "halt_id"), ("diary.swap_answers", "proposal_id")],
        },
        new(
            "late_notes", "Notes that a lesson starts late", "What the pupil was last told, from when they were.",
            "It serves the day itself; the history of the lesson says that they were told.")
        {
            Days = 92, Least = 92, Most = 92, Table = "diary.late_notes", Key = "lesson_id", Since = "r.told_at",
        },
        new(
            OccupiedPast, "Times that past lessons took", "The entry that keeps a time from being taken twice, from when the time ended. The lesson stays.",
            "Nothing is booked into a time a year ago, so nothing has to be kept out of it.")
        {
            Days = 365, Least = 365, Most = 365, Table = "diary.occupied", Key = "entry_id", Since = "upper(r.during)",
        },
    ];
}
