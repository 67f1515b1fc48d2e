namespace School.Core;

/// <summary>Why a typed value was not accepted.</summary>
/// <param name="Code">Stable, for programs: lower case words joined by hyphens.</param>
/// <param name="Sentence">What to do about it, for the person who typed it.</param>
public sealed record InputProblem(string Code, string Sentence);
