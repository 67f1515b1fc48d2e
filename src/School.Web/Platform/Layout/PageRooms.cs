using Microsoft.AspNetCore.Mvc.ApplicationModels;

namespace School.Web.Platform.Layout;

/// <summary>
/// The folders of large modules that sort files and do not stand in addresses: with the room <c>Diary/Day</c> the page
/// <c>Diary/Day/Board.cshtml</c> is <c>/diary/board</c>. A module names its own.
/// </summary>
internal sealed class PageRooms
{
    private readonly HashSet<string> rooms = new(StringComparer.Ordinal);

    public void Add(string module, params ReadOnlySpan<string> names)
    {
        foreach (var name in names)
        {
            rooms.Add($"{module}/{name}");
        }
    }

    /// <summary><c>/Diary/Day/Board</c> without the room: <c>Diary/Board</c>.</summary>
    public string Without(string page)
    {
        var parts = page.TrimStart('/').Split('/');
        return parts.Length > 2 && rooms.Contains($"{parts[0]}/{parts[1]}") ? string.Join('/', [parts[0], .. parts[2..]]) : page;
    }
}

/// <summary>Leaves the room out of the address of every page that does not state its own.</summary>
internal sealed class RoomlessAddresses(PageRooms rooms) : IPageRouteModelConvention
{
    public void Apply(PageRouteModel model)
    {
        foreach (var selector in model.Selectors)
        {
            // What the dashes are made from afterwards; a page that states its whole address has none.
            if (selector.EndpointMetadata.OfType<PageRouteMetadata>().SingleOrDefault() is not { } made)
            {
                continue;
            }

            selector.EndpointMetadata.Remove(made);
            var page = rooms.Without(made.PageRoute);
            selector.EndpointMetadata.Add(new PageRouteMetadata(page, made.RouteTemplate));
            selector.AttributeRouteModel!.Template = AttributeRouteModel.CombineTemplates(page, made.RouteTemplate);
        }
    }
}
