using School.Core.Diary.TestDays;
using School.Web.Platform.Api.Document;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>The code of a heading of the marking sheet.</summary>
internal sealed class HeadingAttribute() : FormAttribute(OneOf(TestHeadings.All.Select(heading => heading.Code)));
