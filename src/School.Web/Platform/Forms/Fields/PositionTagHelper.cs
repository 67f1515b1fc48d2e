using System.Globalization;
using Microsoft.AspNetCore.Razor.TagHelpers;
using School.Core.Travel;
using School.Web.Platform.Layout.Map;

namespace School.Web.Platform.Forms.Fields;

/// <summary>
/// <c>&lt;field-position for="PickUp.Position" /&gt;</c>: latitude and longitude, typed or pasted; where the installation has a map,
/// a script adds the way to pick them there.
/// </summary>
[HtmlTargetElement("field-position", Attributes = "for")]
public sealed class PositionTagHelper : FieldTagHelper
{
    /// <summary>About where the map opens while nothing is entered.</summary>
    public Coordinates? Around { get; set; }

    public override void Process(TagHelperContext context, TagHelperOutput output)
    {
        ArgumentNullException.ThrowIfNull(output);
        if (ViewContext.HttpContext.RequestServices.GetService<MapTiles>() is { } tiles)
        {
            tiles.UseIn(ViewContext.HttpContext);
            output.Attributes.SetAttribute("data-map-tiles", tiles.Address);
            output.Attributes.SetAttribute("data-map-source", tiles.Attribution);
            output.Attributes.SetAttribute("data-map-zoom", tiles.MaxZoom.ToString(CultureInfo.InvariantCulture));
            if (Around is { } around)
            {
                // Two decimals: the part of the town, not somebody's door.
                output.Attributes.SetAttribute("data-map-around", string.Create(CultureInfo.InvariantCulture, $"{around.Latitude:F2}, {around.Longitude:F2}"));
            }
        }

        base.Process(context, output);
    }
}
