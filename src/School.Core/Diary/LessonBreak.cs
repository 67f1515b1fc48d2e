namespace School.Core.Diary;

/// <summary>A rest within a lesson.</summary>
/// <param name="After">When it begins: so many minutes after the lesson does.</param>
/// <param name="Minutes">How long it lasts.</param>
public readonly record struct LessonBreak(int After, int Minutes);
