using School.Web.Platform.Access;

namespace School.Web.Modules.Diary;

/// <summary>The rules speak of "the pupil"; to the pupil they say "you".</summary>
internal static class YourWords
{
    private static readonly (string Theirs, string Yours)[] Turns =
    [
        ("The pupil already has", "You already have"),
        ("That pupil already has", "You already have"),
        ("The pupil has", "You have"),
        ("The pupil is", "You are"),
        ("The pupil's", "Your"),
        ("the pupil's", "your"),
        ("recorded for the pupil", "recorded for you"),
        ("the pupil cannot", "you cannot"),
        ("The pupil was not there", "You were not there"),
    ];

    public static string To(this string sentence, Viewer viewer) => viewer.IsStaff
        ? sentence
        : Turns.Aggregate(sentence, (words, turn) => words.Replace(turn.Theirs, turn.Yours, StringComparison.Ordinal));
}
