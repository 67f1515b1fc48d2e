using NodaTime;

namespace School.Web.Modules.Syllabus.Shipped;

/// <summary>A number, a limit or a list that somebody publishes, said once. Texts refer to it by its name in braces.</summary>
/// <param name="Name">Small letters, digits and hyphens.</param>
/// <param name="Text">As it stands in a text, with its unit.</param>
/// <param name="Where">The nations it holds in.</param>
/// <param name="Source">Where it is published.</param>
/// <param name="SourceDate">The date of the words it was read in.</param>
internal sealed record OfficialValue(string Name, string Text, string Where, string Source, LocalDate SourceDate);
