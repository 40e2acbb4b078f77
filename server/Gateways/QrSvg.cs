using System.Globalization;
using System.Text;
using QRCoder;

namespace PavementWatch.Server.Gateways;

/// <summary>A QR code as an <c>svg</c> element of one path, without scripts, styles or text.</summary>
internal static class QrSvg
{
    /// <summary>Draws a text, with the quiet zone of four modules that ISO/IEC 18004 asks for.</summary>
    public static string Of(string text)
    {
        using var generator = new QRCodeGenerator();
        using var code = generator.CreateQrCode(text, QRCodeGenerator.ECCLevel.M);
        var rows = code.ModuleMatrix;
        var path = new StringBuilder();
        for (var y = 0; y < rows.Count; y++)
        {
            for (var x = 0; x < rows[y].Count; x++)
            {
                if (!rows[y][x])
                    continue;
                var from = x;
                while (x + 1 < rows[y].Count && rows[y][x + 1])
                    x++;
                path.Append(CultureInfo.InvariantCulture, $"M{from} {y}h{x - from + 1}v1h-{x - from + 1}z");
            }
        }

        return string.Create(
            CultureInfo.InvariantCulture,
            $"<svg viewBox=\"0 0 {rows.Count} {rows.Count}\" shape-rendering=\"crispEdges\" aria-hidden=\"true\" focusable=\"false\"><path fill=\"#000\" d=\"{path}\"/></svg>");
    }
}
